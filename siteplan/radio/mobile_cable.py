"""Loss of the 50 ohm cables that mobile roof antennas hang on."""

from __future__ import annotations

import math

from siteplan.errors import InputError, MethodRangeError, told, wording

# kind -> (a, b) of a sqrt(f) + b f in dB per 100 m, f in MHz: copper loss and loss of the foam. Fitted to typical data sheets of low-loss
# foam cables (memory, within 10 %): 900 MHz 36.5, 24.8, 20 and 12.8 dB, 2.5 GHz 62, 42, 34 and 22 dB per 100 m.
CABLES: dict[str, tuple[float, float]] = {
    "5 mm foam": (1.168, 0.00160),
    "6 mm foam": (0.794, 0.00108),
    "7 mm foam": (0.630, 0.00110),
    "10 mm foam": (0.401, 0.00085),
}
SOURCE = wording("a sqrt(f) + b f per 100 m, typical data sheets (memory), within 10 %")


def cable_loss_db(cable: str, *, length_m: float, frequency_mhz: float) -> float:
    """Return what a cable of a kind takes, dB.

    length_m 0 or more; frequency_mhz 30 to 6000. By hand: 25 m of 5 mm foam at 3550 MHz: (1.168 x 59.58 + 0.0016 x 3550) / 4 = 18.8 dB.

    Raises InputError for an unknown cable, MethodRangeError outside the frequencies. Checked in tests/radio/test_mobile_signal.py.
    """
    if cable not in CABLES:
        raise InputError(told("the cable is {cable!r}; write one of {cables}", cable=cable, cables=", ".join(CABLES)))
    if not 30.0 <= frequency_mhz <= 6000.0:
        raise MethodRangeError(told("cable loss is known from 30 to 6000 MHz, not at {frequency_mhz:g} MHz", frequency_mhz=frequency_mhz))
    copper, foam = CABLES[cable]
    return 0.01 * length_m * (copper * math.sqrt(frequency_mhz) + foam * frequency_mhz)
