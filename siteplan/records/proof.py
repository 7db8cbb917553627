"""What the report of one installation and the supervisor's review are drawn from."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.records.findings import AddressFinding, Findings
from siteplan.records.readings import Installation
from siteplan.records.verdict import Reason


@dataclass(frozen=True, slots=True)
class Picture:
    """One picture that goes into a report: its file's name and SHA-256 as it came, and the picture as a data URL; image: its bytes."""

    name: str
    digest: str
    data_url: str
    image: bytes = b""


@dataclass(frozen=True, slots=True)
class Proof:
    """One installation with the run it rests on. listed: (name, SHA-256) of every picture stored of it."""

    findings: Findings
    row: AddressFinding
    installation: Installation
    pictures: tuple[Picture, ...] = ()
    listed: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Review:
    """All installations of a plan. missing: expected somewhere but without a reading; names: installers' names may be shown.

    gone      ids of installations in the store that are not in the last run
    taught    what the readings teach of each source, with its errors out of sample
    redacted  no name of a person or an address may be shown
    """

    done: tuple[Installation, ...]
    missing: tuple[Installation, ...]
    names: bool
    weak_db: float
    gone: tuple[str, ...] = ()
    redacted: bool = False
    taught: tuple[Reason, ...] = ()
