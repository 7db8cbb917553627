"""Names of parts and of the items of a chain as people read them: siteplan's own in the language spoken, others as they stand."""

from __future__ import annotations

import re

from siteplan.words.language import FOOT_M, INCH_M, figures, say, spoken

# The generic parts list and the items that siteplan's own chains are made of; a plan's own names are not here and stay as they are.
WORDS = (
    "LNB single", "LNB twin", "LNB quad", "LNB octo", "LNB quattro", "LNB wideband pair", "Single-cable unit 8", "Single-cable switch 16",
    "Single-cable switch 16 for 2", "Single-cable switch 32 for 4", "Aerial UHF", "Cable class A 7 mm", "Cable thin 5 mm",
    "Cable trunk 10 mm", "Cable 50 ohm 10 mm", "Cable 50 ohm 5 mm", "Mobile antenna pair", "Amplifier satellite and TV 20",
    "Mast-head amplifier 16", "Mast-head amplifier 28", "Filter below 694", "Attenuator 6", "Attenuator 12", "Attenuator 20",
    "Slope equaliser 10", "DiSEqC switch 2", "DiSEqC switch 4", "Combiner satellite and TV", "Tap 10", "Tap 15", "Tap 20", "Tap 15 diode",
    "Splitter 2", "Splitter 4", "Splitter 2 diode", "Splitter 4 diode", "Splitter 8 diode", "Multiswitch 4 to 4 passive",
    "Multiswitch 4 to 8 active", "Multiswitch 4 to 16 active", "Multiswitch 8 to 8 active", "Multiswitch 8 to 16 active",
    "Multiswitch 16 to 8 active", "Cascade switch 8", "Cascade switch 8 for 2", "Cascade switch 8 for 4", "Head amplifier 4 and TV",
    "Head amplifier 8 and TV", "Head amplifier 16 and TV", "Outlet", "Receiver", "Mobile router", "Connector F", "Connector 50 ohm",
    "Wall bracket", "Roof mast", "Chimney strap and mast", "Ground mast", "Bar for several LNBs", "Dish of unknown size", "cable from TV aerial", "TV aerial",
    "head amplifier", "multiswitch", "single-cable unit", "old cable", "combiner", "splitter", "TV splitter", "direct", "quad", "octo",
    "Surge arrester 50 ohm", "Router with two antenna sockets", "Mobile outdoor unit", "Network cable outdoor", "Power injector",
    "Surge arrester network", "Mobile device", "Dish of unknown size", "cascade", "single-cable", "TV alone", "50 to 100 at the receiver", "satellite",
)  # fmt: skip
# Names with a number or another name in them: template -> what they look like.
TEXTS = {
    "item_outlet": "outlet {number}",
    "item_tv_outlet": "TV outlet {number}",
    "item_cable": "cable {number}",
    "item_tv_cable": "TV cable {number}",
    "item_switch": "switch {number}",
    "item_trunk": "trunk {number}",
    "item_line_amplifier": "line amplifier {number}",
    "item_lead": "lead {number} from LNB {name}",
    "item_cables": "cables from LNB {name}",
    "item_dish": "Dish {size} m",
    "item_dish_inch": "Dish {size} in",
    "item_system_one": "{system}, 1 outlet",
    "item_system": "{system}, {number} outlets",
    "item_foam": "Cable 50 ohm, {number} mm foam",
    "item_foam_name": "{number} mm foam",
    "item_at": "{part} at {place}",
}
_SHAPES = {"number": r"\d+", "size": r"\d+(?:\.\d+)?", "name": r".+", "system": r".+", "part": r".+", "place": r".+"}
_KNOWN = frozenset(WORDS)
_PATTERNS = [
    (text, re.compile(re.sub(r"\\{(\w+)\\}", lambda match: f"(?P<{match[1]}>{_SHAPES[match[1]]})", re.escape(text))))
    for text in TEXTS.values()
]


def item_name(name: object) -> str:
    """Return a part's or an item's name in the language spoken now."""
    text = str(name)
    if text in _KNOWN:
        return say(text)
    for template, pattern in _PATTERNS:
        found = pattern.fullmatch(text)
        if found is not None:
            values = {key: figures(value) if key == "size" else item_name(value) for key, value in found.groupdict().items()}
            if "size" in values and spoken().units == "feet":
                template, values = TEXTS["item_dish_inch"], {"size": f"{float(found['size']) / INCH_M:.0f}"}
            return say(template).format(**values)
    return text


def quantity_of(quantity: float, unit: str, part: str) -> str:
    """Return one line of what goes into the van: "6 × Connector F", "44 m Cable class A 7 mm"."""
    if not unit:
        return f"{quantity:.0f} × {item_name(part)}"
    feet = unit == "m" and spoken().units == "feet"
    return f"{quantity / FOOT_M:.0f}\u00a0ft {item_name(part)}" if feet else f"{quantity:.0f}\u00a0{unit} {item_name(part)}"
