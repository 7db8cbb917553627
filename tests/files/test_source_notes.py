"""What a small package says of its sources."""

import pytest

from siteplan.files.source_notes import source_notes
from siteplan.records.methods import SourceNote

pytestmark = pytest.mark.quick
CODE = '''"""Loss of a tin roof (EN 12345). Nothing else."""

# A roof of tin, dB (common practice, no source).
TIN_DB = 12.0
PLAIN = 3.0
SLATE_DB: float = 2.0  # Rec. ITU-R P.9999, table 1


def loss_db(frequency_mhz):
    """Return the loss.

    frequency_mhz  any

    Source: Rec. ITU-R P.9999-1, eq. (1), and
    EN 12345. Checked by hand in tests/radio/test_tin.py.
    """


class Roof:
    """A roof."""

    def area(self):
        """Return it. Source: geometry."""

    def colour(self):
        """Return what nobody knows."""
'''


def test_docstrings_methods_and_constants(tmp_path):
    (tmp_path / "radio").mkdir()
    (tmp_path / "radio" / "tin.py").write_text(CODE, encoding="utf-8")
    (tmp_path / "words").mkdir()
    (tmp_path / "words" / "tin.py").write_text('"""Source: never read."""\n', encoding="utf-8")
    where = "radio/tin.py"
    assert source_notes(tmp_path) == (
        SourceNote(where, "", "Loss of a tin roof (EN 12345)"),
        SourceNote(where, "TIN_DB", "A roof of tin, dB (common practice, no source)"),
        SourceNote(where, "SLATE_DB", "Rec. ITU-R P.9999, table 1"),
        SourceNote(where, "loss_db", "Rec. ITU-R P.9999-1, eq. (1), and EN 12345", ("tests/radio/test_tin.py",)),
        SourceNote(where, "Roof.area", "geometry"),
    )


def test_elsewhere_a_standard_named_in_passing_is_no_source(tmp_path):
    (tmp_path / "services").mkdir()
    (tmp_path / "services" / "tin.py").write_text('"""Reads what EN 12345 calls tin."""\n', encoding="utf-8")
    assert source_notes(tmp_path) == ()
