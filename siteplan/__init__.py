"""siteplan: can a dish, a TV aerial or a mobile antenna work at this address? Terrain in, verdicts, maps and sheets out."""

import os as _os
import tempfile as _tempfile
from pathlib import Path as _Path

__version__ = "0.1.0"


def _choose_kernel_cache() -> None:
    """Give numba a folder it can write before it loads: the user's cache, else a temporary one (read-only installs)."""
    if _os.environ.get("NUMBA_CACHE_DIR"):
        return
    base = _os.environ.get("LOCALAPPDATA") or _os.environ.get("XDG_CACHE_HOME") or _os.path.join(_os.path.expanduser("~"), ".cache")
    wanted = _Path(base) / "siteplan" / f"kernels-{__version__}"
    try:
        wanted.mkdir(parents=True, exist_ok=True)
        with _tempfile.TemporaryFile(dir=wanted):
            pass
    except OSError:
        wanted = _Path(_tempfile.gettempdir()) / f"siteplan-kernels-{__version__}"
    _os.environ["NUMBA_CACHE_DIR"] = str(wanted)


_choose_kernel_cache()
