"""Paths shorter than P.1812 was published for (250 m): free space plus diffraction.

Free space (P.525) and the delta-Bullington diffraction of P.526 are taken as P.1812-8, 4.2 and 4.3, has them; ducting and
troposcatter are left out. At 250 m and 50 % of time it meets P.1812 within 0.05 dB where diffraction is below 30 dB; above that P.1812
is the lower of the two, because its troposcatter term (made for long paths) caps it (tests/radio/test_short_path.py).
"""

from __future__ import annotations

from siteplan.errors import wording
from siteplan.radio.methods.kernels import diffraction_part
from siteplan.radio.methods.shape import DEFAULT_SIGMA_DB, Range, answer, checked
from siteplan.radio.path_geometry import PathGeometry, prepare
from siteplan.records.results import PathLoss

__all__ = ["LABEL", "RANGE", "loss_db", "prepare"]

LABEL = wording("free space and diffraction (ITU-R P.525, P.526)")
# One metre, so that an antenna at the sender itself is refused; diffraction as P.526 is not bound to a least height.
RANGE = Range(LABEL, (1.0, 3_000_000.0), (0.1, 3000.0), (30.0, 6000.0), (1.0, 50.0), (1.0, 99.0))
_LINE_OF_SIGHT_P, _DIFFRACTION_P = 1, 13  # places in kernels.TERM_NAMES


def loss_db(
    geometry: PathGeometry,
    *,
    frequency_mhz: float,
    time_pct: float = 50.0,
    location_pct: float = 50.0,
    polarisation: str = "h",
    erp_kw: float = 1.0,
    sigma_db: float = DEFAULT_SIGMA_DB,
) -> PathLoss:
    """Return free-space loss plus diffraction, with the arguments and the answer of p1812.loss_db; made for paths under 250 m.

    Raises MethodRangeError for a path under 1 m or arguments outside the range of P.1812, InputError for a wrong word.
    Source: Rec. ITU-R P.525-4 and P.526-16, in the form of P.1812-8, 4.2 and 4.3. Checked in tests/authorities/test_p526.py.
    """
    question = checked(
        geometry,
        RANGE,
        frequency_mhz=frequency_mhz,
        time_pct=time_pct,
        location_pct=location_pct,
        polarisation=polarisation,
        erp_kw=erp_kw,
        sigma_db=sigma_db,
    )
    found = diffraction_part(geometry.values, 1e-3 * frequency_mhz, float(time_pct), geometry.beta0_pct, question.vertical)
    return answer(geometry, question, found, median_db=float(found[_DIFFRACTION_P]), floor_db=float(found[_LINE_OF_SIGHT_P]), method=LABEL)
