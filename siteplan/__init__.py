"""siteplan: can a dish, a TV aerial or a mobile antenna work at this address? Terrain in, verdicts, maps and sheets out."""

import os as _os
import tempfile as _tempfile
from pathlib import Path as _Path
from zlib import crc32 as _crc32

__version__ = "0.1.0"


def _kernels_fingerprint() -> str:
    """Return a short word that changes with any kernel: numba looks at one file only, and keeps callers of an edited one as they were."""
    here = _Path(__file__).parent
    files = sorted([*here.glob("*/kernels.py"), *here.glob("*/*/kernels.py"), *here.glob("*/kernels/*.py")])
    marks = ";".join(f"{file.relative_to(here)} {file.stat().st_size} {file.stat().st_mtime_ns}" for file in files)
    return f"{_crc32(marks.encode()):08x}"


def _choose_kernel_cache() -> None:
    """Give numba a folder it can write before it loads: the user's cache, else a temporary one (read-only installs)."""
    if _os.environ.get("NUMBA_CACHE_DIR"):
        return
    base = _os.environ.get("LOCALAPPDATA") or _os.environ.get("XDG_CACHE_HOME") or _os.path.join(_os.path.expanduser("~"), ".cache")
    name = f"kernels-{__version__}-{_kernels_fingerprint()}"
    wanted = _Path(base) / "siteplan" / name
    try:
        wanted.mkdir(parents=True, exist_ok=True)
        with _tempfile.TemporaryFile(dir=wanted):
            pass
    except OSError:
        wanted = _Path(_tempfile.gettempdir()) / f"siteplan-{name}"
    _os.environ["NUMBA_CACHE_DIR"] = str(wanted)


_choose_kernel_cache()
