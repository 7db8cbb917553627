"""What the tests of the command line share: one small piece of land, and a job on it for each test."""

import pytest
from small_job import Job, write_land


@pytest.fixture(scope="session")
def land(tmp_path_factory):
    """A folder with ground.tif and surface.tif."""
    return write_land(tmp_path_factory.mktemp("land"))


@pytest.fixture
def job(tmp_path, land, capsys, monkeypatch):
    """A plan's folder and ways to run it through the command line, in this process."""
    return Job(tmp_path, land, capsys, monkeypatch)
