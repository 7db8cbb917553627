"""ITU-R P.1812-8: path-specific loss for point-to-area terrestrial services, 30 MHz to 6 GHz.

Equations are those of P.1812-8 (09/2025), section numbers beside each kernel; P.1812-6 and -7 give the same numbers for all
published cases. Built here: free space with multipath and focusing (4.2), delta-Bullington diffraction (4.3), troposcatter
(4.4), ducting and layer reflection (4.5), their combination (4.6), location variability (4.7) and field strength (4.10). Left
out: building entry (4.8), because the antennas stand outdoors.
"""

from __future__ import annotations

from siteplan.radio.methods.kernels import terms
from siteplan.radio.methods.shape import DEFAULT_SIGMA_DB, Range, answer, checked
from siteplan.radio.path_geometry import PathGeometry, prepare
from siteplan.records.results import PathLoss

__all__ = ["LABEL", "RANGE", "loss_db", "prepare"]

LABEL = "ITU-R P.1812-8"
RANGE = Range(LABEL, (250.0, 3_000_000.0), (1.0, 3000.0), (30.0, 6000.0), (1.0, 50.0), (1.0, 99.0))
_LINE_OF_SIGHT_P, _COMBINED = 1, 20  # places in kernels.TERM_NAMES


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
    """Return the basic transmission loss not exceeded for a share of time and locations, and the field strength.

    geometry                one path, from prepare(); 0.25 to 3000 km, antennas 1 to 3000 m above ground
    frequency_mhz           30 to 6000
    time_pct, location_pct  1 to 50 and 1 to 99
    polarisation            "h" or "v"
    erp_kw                  power over a half-wave dipole, for the field strength
    sigma_db                deviation over locations; used where location_pct is not 50 (shape.location_sigma_db gives the
                            method's own, which depends on the size of the square)

    Raises MethodRangeError outside these ranges, InputError for another word for the polarisation or a power not above 0.
    Source: Rec. ITU-R P.1812-8. Checked, every step, in tests/authorities/test_p1812.py.
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
    found = terms(
        geometry.values,
        1e-3 * frequency_mhz,
        float(time_pct),
        geometry.beta0_pct,
        geometry.n0,
        1e-3 * geometry.tx_coast_m,
        1e-3 * geometry.rx_coast_m,
        question.vertical,
    )
    return answer(geometry, question, found, median_db=float(found[_COMBINED]), floor_db=float(found[_LINE_OF_SIGHT_P]), method=LABEL)
