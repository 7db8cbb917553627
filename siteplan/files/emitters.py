"""What sends, asked for in one place: the readers of satellites, of TV transmitters and of mobile sectors."""

from __future__ import annotations

from siteplan.files.satellite_rows import SATELLITE_COLUMNS as SATELLITE_COLUMNS
from siteplan.files.satellite_rows import orbit_name as orbit_name
from siteplan.files.satellite_rows import read_satellites as read_satellites
from siteplan.files.sectors import SECTOR_COLUMNS as SECTOR_COLUMNS
from siteplan.files.sectors import read_sectors as read_sectors
from siteplan.files.transmitters import TRANSMITTER_COLUMNS as TRANSMITTER_COLUMNS
from siteplan.files.transmitters import read_transmitters as read_transmitters
