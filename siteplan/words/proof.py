"""Texts of the report of one installation and of the supervisor's review."""

from __future__ import annotations

from siteplan.words.formats import SentenceFormatter
from siteplan.words.language import say

_FORMATTER = SentenceFormatter()

TEXTS: dict[str, str] = {
    # --- report of one installation ---------------------------------------------------------------------------------------
    "proof_title": "Installation report, {name}",
    "proof_lead": "Row {row}, id {id}",
    "proof_pass": "All {count} carriers that were read pass.",
    "proof_pass_part": "{passed} of {count} carriers that were read pass; {unread} of {expected} expected ones were not read.",
    "proof_fail": "{failed} of {count} carriers that were read do not pass.",
    "proof_weakest": "Weakest: {carrier} of {source} at {outlet}, {margin_db:.1f} dB to spare.",
    "proof_none": "No reading proves anything yet.",
    "proof_profile": "Limits: {profile}. Carrier-to-noise decides; level must lie within its window.",
    "proof_when": "Read on {when}.",
    "proof_when_unknown": "Nobody says when it was read.",
    "proof_who": "By {who}.",
    "proof_meter": "With {meter}.",
    "proof_dead": "No signal: {carriers}.",
    "proof_changed": "Changed after signing: what is stored now is not what was signed on {when}.",
    "proof_signed": "Signed on {when}; nothing was changed since.",
    "proof_unsigned": "Not signed yet.",
    "proof_hash": "Hash of what is stored: {digest}",
    "proof_means": "What the readings say together",
    "proof_readings": "Readings",
    "proof_caption": "{source} at {outlet}",
    "proof_kit": "Kit",
    "proof_skyline": "Skyline from the spot",
    "proof_skyline_title": "Skyline at {name}, with the satellites’ arc",
    "proof_pictures": "Pictures",
    "proof_picture_listed": "{name}, SHA-256 {digest}",
    "proof_older": "{count} earlier or unexpected readings are kept in the store and do not count here.",
    "proof_sign": "Signatures",
    "proof_sign_installer": "Installer, date",
    "proof_sign_customer": "Customer, date",
    "proof_cautions": "Beware",
    "proof_caution_mains": "Before anything is opened: switch off and unplug. Mains work, bonding and earthing are for qualified people and follow the local code.",
    "proof_caution_roof": "Nobody goes back onto the roof alone, in wind, or with a storm about.",
    "proof_caution_rain": "Readings in rain prove nothing about a clear day, and the other way round.",
    # --- review ------------------------------------------------------------------------------------------------------------
    "review_title": "Review of installations, {name}",
    "review_missing": "{count} booked jobs have no report",
    "review_missing_none": "Every booked job has a report",
    "review_missing_list": "Show them",
    "review_missing_other": "{count} more jobs of the last run, to be surveyed first, have none either.",
    "review_fails": "{count} do not pass",
    "review_weak": "{count} pass weakly (within {weak_db:.0f} dB of the limit)",
    "review_rest": "{count} pass",
    "review_open": "{count} prove nothing yet (levels alone, or too few readings)",
    "review_carriers": "{passed} of {count}",
    "review_groups": "By whom, with what, where and when",
    "review_groups_note": "Difference is reading minus prediction, the middle of all carriers: a whole group off by the same hints at a meter, a habit or a "
    "wrong prediction, not at one bad job.",
    "review_by_installer": "Installer",
    "review_by_kit": "Kit",
    "review_by_area": "Area",
    "review_by_month": "Month",
    "review_names_hidden": "Installers’ names are hidden. To show them: siteplan review PLAN --names",
    "review_installer": "installer {number}",
    "review_unknown": "not given",
    "review_report": "Report",
    "review_make": "siteplan proof PLAN {id}",
    "review_changed": "changed after signing",
    "review_none": "None.",
    "col_job": "Job",
    "col_read": "Carriers that pass",
    "col_weakest": "Weakest",
    "col_says": "What the readings say",
    "col_jobs": "Jobs",
    "col_level_off": "Level, difference",
    "col_cn_off": "C/N, difference",
    "col_carrier_name": "Carrier",
    "col_level": "Level, dBµV",
    "col_level_expected": "expected",
    "col_window": "window",
    "col_cn": "C/N, dB",
    "col_cn_expected": "expected",
    "col_margin": "To spare, dB",
    "col_passes": "Passes",
    "yes": "yes",
    "no": "no",
    "open": "not proved",
}


def text(name: str, /, **values: object) -> str:
    """Return one text, its values put in. Raises KeyError for a name there is no text for."""
    return _FORMATTER.format(TEXTS[name], **values) if values else say(TEXTS[name])
