"""Where the check data of the surrounding workspace lie; tests that need them skip, with a reason, where they are absent."""

from pathlib import Path

import pytest

SHARED = Path(__file__).resolve().parents[2] / "shared"


def need_shared(name: str) -> Path:
    """Return the path of a shared check file, or skip the calling test."""
    path = SHARED / name
    if not path.exists():
        pytest.skip(f"check data {name} are not beside this checkout")
    return path
