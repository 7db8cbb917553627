"""Named limits at the outlet: what the standard wants, and what common practice is content with."""

from __future__ import annotations

from siteplan.errors import InputError, told, wording
from siteplan.records.parts import LevelProfile, Window

_EN = wording("EN 60728-1, levels at the system outlet, as restated on a public installer page")
_T2 = wording("published national regulation for cable distribution of DVB-T2; equal to EN 60728-1 where both are known")
_EN_64QAM = wording("EN 60728-1, levels at the system outlet, as restated on a public installer page; the row of 64QAM 2/3")
_T2_STRICTEST = wording(
    "published national regulation for cable distribution of DVB-T2; equal to EN 60728-1 where both are known; the strictest row, where "
    "the mode has none of its own"
)
_T2_LEAST = (
    ("QPSK 1/2", 26.0), ("QPSK 3/5", 27.0), ("QPSK 2/3", 28.0), ("QPSK 4/5", 31.0), ("QPSK 5/6", 32.0), ("16QAM 1/2", 31.0),
    ("16QAM 2/3", 35.0),
    ("16QAM 3/4", 36.0), ("16QAM 4/5", 37.0), ("64QAM 1/2", 36.0), ("64QAM 3/5", 38.0), ("64QAM 2/3", 39.0), ("64QAM 4/5", 43.0),
    ("64QAM 5/6", 44.0), ("256QAM 1/2", 39.0), ("256QAM 2/3", 44.0), ("256QAM 3/4", 46.0), ("256QAM 4/5", 48.0),
)  # fmt: skip
_PRACTICE = wording("common practice, no source")

EN_60728_1 = LevelProfile(
    name="EN 60728-1",
    windows=(
        Window("DVB-S", 47.0, 77.0, _EN), Window("DVB-C 64QAM", 47.0, 67.0, _EN), Window("DVB-C 256QAM", 54.0, 74.0, _EN),
        Window("DVB-T 16QAM", 36.0, 74.0, _EN), Window("DVB-T", 45.0, 74.0, _EN_64QAM),
        *(Window(f"DVB-T2 {mode}", least, 74.0, _T2) for mode, least in _T2_LEAST),
        Window("DVB-T2", 48.0, 74.0, _T2_STRICTEST), Window("", 45.0, 74.0, _PRACTICE),
    ),
    slope_db=15.0,
    isolation_db=22.0,
    isolation_flats_db=30.0,
    headroom_db=0.0,
    source=wording(
        "EN 60728-1, levels at the system outlet, as restated on a public installer page; slope 15 dB within 950-2150 MHz, isolation 22 dB "
        "between outlets of one home and 30 dB between homes: memory"
    ),
)  # fmt: skip
PRACTICE = LevelProfile(
    name="50 to 100 at the receiver",
    windows=(Window("", 50.0, 100.0, _PRACTICE),),
    slope_db=20.0,
    isolation_db=0.0,
    isolation_flats_db=0.0,
    headroom_db=0.0,
    source=_PRACTICE,
)
PROFILES = {profile.name: profile for profile in (EN_60728_1, PRACTICE)}


def profile_named(name: str, more: tuple[LevelProfile, ...] = ()) -> LevelProfile:
    """Return a profile by its name; more: a company's own, from the plan. Raises InputError naming those there are."""
    known = {**PROFILES, **{profile.name: profile for profile in more}}
    if name not in known:
        raise InputError(told("no limits are called {name!r}; there are: {known}", name=name, known=", ".join(known)))
    return known[name]


def window_of(profile: LevelProfile, modulation: str) -> Window:
    """Return the window for a modulation: the longest entry that its name begins with ("DVB-T2 256QAM 2/3" takes "DVB-T2 256QAM")."""
    fitting = [window for window in profile.windows if _begins(modulation, window.modulation)]
    if not fitting:
        return Window(modulation, float("-inf"), float("inf"), told("no limit in this profile"))
    return max(fitting, key=lambda window: len(window.modulation))


def _begins(modulation: str, start: str) -> bool:
    words, wanted = modulation.split(), start.split()
    if start == "DVB-S":  # one window for all satellite systems
        return modulation.startswith("DVB-S")
    return words[: len(wanted)] == wanted
