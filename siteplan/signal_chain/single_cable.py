"""Single-cable systems: user bands, and where a receiver must tune. EN 50494 (up to 8 user bands) and EN 50607 (up to 32)."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.errors import InputError, told
from siteplan.records.parts import Chain
from siteplan.signal_chain.network import POSITIONS, split_feed, upstream

USER_BANDS = {"EN 50494": 8, "EN 50607": 32}


@dataclass(frozen=True, slots=True)
class ChannelChange:
    """What one tuner asks for: the tuning word T, the message's bytes, and how far the carrier then lies from the user band's centre."""

    tuning_word: int
    message: bytes
    tuned_minus_wanted_mhz: float


def positions(chain: Chain) -> tuple[tuple[str, int], ...]:
    """Return (satellite, its position from 0 in receivers' commands) of a single-cable unit: the order of its feeds."""
    by_id = {item.id: item for item in chain.items}
    found: dict[str, int] = {}
    for unit in chain.items:
        if unit.part.kind != "single_cable":
            continue
        order = [one.serves for feed in unit.fed_from for one in (by_id[split_feed(feed)[0]], *upstream(chain, by_id[split_feed(feed)[0]]))
                 if one.part.kind == "lnb"]  # fmt: skip
        for place, name in enumerate(dict.fromkeys(order)):
            found.setdefault(name, place)
    return tuple(found.items())


def channel_change(
    *, standard: str, user_band: int, user_band_mhz: float, position: int, horizontal: bool, high_band: bool, if_mhz: float
) -> ChannelChange:
    """Return the channel-change message of one tuner.

    user_band  from 1; position of the satellite from 0; if_mhz the wanted carrier at the LNB
    EN 50494: T = round((IF + UB)/4) - 350, steps of 4 MHz, so the carrier lies up to 2 MHz beside the centre; E0 10 5A data1 data2.
    EN 50607: T = IF - 100, steps of 1 MHz; 70 data1 data2 data3. Both as restated in public demodulator drivers (../shared/standards).
    Raises InputError for a user band or position the standard does not have.
    """
    if standard not in USER_BANDS:
        raise InputError(
            told("{standard} is no single-cable standard; write one of {user_bands}", standard=standard, user_bands=", ".join(USER_BANDS))
        )
    if not 1 <= user_band <= USER_BANDS[standard]:
        raise InputError(
            told(
                "user band {user_band} does not exist in {standard}; it has 1 to {user_bands}",
                user_band=user_band,
                standard=standard,
                user_bands=USER_BANDS[standard],
            )
        )
    if not 0 <= position < POSITIONS[standard]:
        raise InputError(
            told(
                "satellite position {position} does not exist in {standard}; it has 0 to {positions}",
                position=position,
                standard=standard,
                positions=POSITIONS[standard] - 1,
            )
        )
    if standard == "EN 50494":
        word = int((if_mhz + user_band_mhz) / 4.0 + 0.5) - 350
        bank = position * 4 + horizontal * 2 + high_band
        data1 = (user_band - 1) << 5 | bank << 2 | word >> 8
        message = bytes((0xE0, 0x10, 0x5A, data1, word & 0xFF))
        return ChannelChange(word, message, (word + 350) * 4.0 - user_band_mhz - if_mhz)
    word = int(if_mhz - 100.0 + 0.5)
    data1 = (user_band - 1) << 3 | word >> 8
    data3 = position << 2 | horizontal << 1 | int(high_band)
    return ChannelChange(word, bytes((0x70, data1, word & 0xFF, data3)), word + 100.0 - if_mhz)
