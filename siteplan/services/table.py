"""What is sold: name of a service -> its judge, its title, the kind of emitter it needs, and the reason where a plan lists none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from siteplan.services.mobile.judge import judge as judge_mobile
from siteplan.services.satellite.judge import judge as judge_satellite
from siteplan.services.terrestrial.judge import judge as judge_terrestrial


@dataclass(frozen=True, slots=True)
class Service:
    """One service. judge(site, land, emitters, plan, pictures=) -> (Verdict, finding); beside: other emitters it is given by that name."""

    name: str
    title: str
    judge: Callable
    emitters: str
    finding: str
    beside: str = ""


SERVICE_TABLE = {
    "satellite": Service("satellite", "Satellite", judge_satellite, "satellites", "satellite", "sectors"),
    "terrestrial": Service("terrestrial", "Terrestrial TV", judge_terrestrial, "transmitters", "terrestrial", "sectors"),
    "mobile": Service("mobile", "Mobile internet", judge_mobile, "sectors", "mobile"),
}
