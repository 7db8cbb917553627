"""Everything a plan names except the cells of its rasters: addresses and senders, read once for run and check alike."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date as Date
from pathlib import Path

import numpy as np

from siteplan.errors import InputError, PlanError, RasterError, told, wording
from siteplan.files import rasters
from siteplan.files.addresses import list_addresses, none_placed
from siteplan.files.emitters import read_satellites, read_sectors
from siteplan.files.footprints import read_footprints
from siteplan.files.orbit_elements import read_orbits
from siteplan.files.run_record import input_files, input_hashes, shown_path
from siteplan.files.transmitters import read_transmitters
from siteplan.geodesy import cells, projection
from siteplan.records.emitters import Satellite, Sector, Transmitter
from siteplan.records.ground import KIND_BUILDING, KIND_OBJECT, Footprints, Surface
from siteplan.records.places import AddressList, Reject
from siteplan.records.plan import Plan
from siteplan.records.readings import Reading
from siteplan.records.verdict import Reason
from siteplan.services.satellite.read_eirp import with_readings
from siteplan.services.satellite.right_satellite import receivable
from siteplan.services.shared.orbits import with_orbits
from siteplan.store.readings_store import open_store
from siteplan.studies.surfaces import load_surface
from siteplan.terrain.surface import heights_at

NEAR_M = 50.0  # how far around an address its ground is read to see whether it is known
# What tells water from low land, and a mast on a roof from one inside the house (common practice, no source).
_SEA_AROUND_M, _WATER_LEVEL_M, _ROOF_ERROR_M = 100.0, 0.05, 1.0
OUTSIDE = wording("lies outside the ground data")


@dataclass(frozen=True)
class Inputs:
    """What a plan names. rejects: rows that could not be taken, addresses first, then senders; notes: what was understood."""

    addresses: AddressList
    satellites: tuple[Satellite, ...]
    transmitters: tuple[Transmitter, ...]
    sectors: tuple[Sector, ...]
    rejects: tuple[Reject, ...]
    notes: tuple[Reason, ...] = ()
    plots: Footprints | None = None


@dataclass(frozen=True)
class GroundFrames:
    """Where the ground rasters of a plan lie, by their frames alone (voids inside are not looked at)."""

    infos: tuple[rasters.RasterInfo, ...]

    @property
    def systems(self) -> tuple[str, ...]:
        """Return the coordinate systems of the ground rasters, in the plan's order."""
        return tuple(dict.fromkeys(info.crs for info in self.infos))

    def inside(self, lat_deg: np.ndarray, lon_deg: np.ndarray) -> np.ndarray:
        """Return which places (n,) lie in the frame of any ground raster."""
        out = np.zeros(np.shape(lat_deg), dtype=bool)
        for info in self.infos:
            x, y = projection.from_wgs84(lon_deg, lat_deg, info.crs)
            col, row = cells.invert(info.transform, x, y)
            if projection.is_geographic(info.crs):
                col = cells.wrapped(col, info.transform, info.cols)
            with np.errstate(invalid="ignore"):
                out |= (col >= 0.0) & (col <= info.cols) & (row >= 0.0) & (row <= info.rows)
        return out

    def words(self) -> str:
        """Return the extent of the ground in words."""
        south, north = min(info.south_deg for info in self.infos), max(info.north_deg for info in self.infos)
        west, east = min(info.west_deg for info in self.infos), max(info.east_deg for info in self.infos)
        return told(
            "latitude {south:.4f} to {north:.4f}, longitude {west:.4f} to {east:.4f}", south=south, north=north, west=west, east=east
        )


def ground_frames(plan: Plan) -> GroundFrames:
    """Return where the ground rasters of a plan lie. Raises PlanError for a plan without terrain, RasterError."""
    if not plan.terrain:
        raise PlanError(
            told("no terrain: at least one [[terrain]] table with a ground raster is needed"), file=plan.file.name, key="terrain"
        )
    return GroundFrames(
        tuple(
            rasters.describe(
                table.ground, crs=table.crs, vertical_unit=table.vertical_unit, nodata=table.nodata, vertical_datum=table.vertical_datum
            )
            for table in plan.terrain
        )
    )


def read_inputs(plan: Plan, on_date: Date | None = None) -> Inputs:
    """Return what a plan names, satellites where they stand on a date (else on the plan's).

    A row outside the ground stays placed here: its verdict says that no ground data reach it.

    Raises InputError and its kin: a file that can't be read, no row that can be placed, none of them within any ground raster.
    """
    frames = ground_frames(plan)
    inputs = _read(plan, frames, on_date)
    placed = [row.address for row in inputs.addresses.rows if row.address is not None]
    if not placed:
        raise none_placed(inputs.addresses)
    lat, lon = np.array([address.lat_deg for address in placed]), np.array([address.lon_deg for address in placed])
    if not frames.inside(lat, lon).any():
        raise outside_all(inputs.addresses, frames)
    return inputs


def outside_all(addresses: AddressList, frames: GroundFrames) -> InputError:
    """Return the message for a list of which no row lies on the terrain: where the rows lie and where the ground does."""
    placed = [row.address for row in addresses.rows if row.address is not None]
    first = placed[0]
    return InputError(
        told(
            "{file}: none of {placed} placed rows lies on the ground of this plan, which covers {frames}; row {row} is at latitude "
            "{lat_deg:.4f}, longitude {lon_deg:.4f}. Check coordinates, crs and [[terrain]]",
            file=addresses.file,
            placed=len(placed),
            frames=frames.words(),
            row=first.row,
            lat_deg=first.lat_deg,
            lon_deg=first.lon_deg,
        )
    )


def read_placed_satellites(plan: Plan, on_date: Date | None = None) -> tuple[tuple[Satellite, ...], tuple[Reject, ...], tuple[Reason, ...]]:
    """Return the wanted satellites with what the kit's LNBs take of them, where they stand on a date (else the plan's); rejects; notes."""
    satellites, rejects = read_satellites(plan)
    satellites, lost = receivable(satellites, plan)
    elements, bad = read_orbits(plan.satellites.orbits) if plan.satellites.orbits is not None else ((), ())
    satellites, notes = with_orbits(satellites, elements, on_date or plan.date)
    satellites = with_readings(satellites, stored_readings(plan), plan)
    return satellites, (*rejects, *bad), (*lost, *notes)


def store_of(plan: Plan) -> Path:
    """Return where the readings of a plan are kept."""
    return plan.readings.store or plan.file.parent / "readings.gpkg"


def hashes_of(plan: Plan) -> list[dict[str, object]]:
    """Return the inputs of a plan with their hashes; of stored readings the hash of what they say, for the file's bytes vary."""
    lines, store = input_hashes(input_files(plan), plan), store_of(plan)
    if store.exists():
        with open_store(store) as opened:
            count, content = opened.content()
        lines.append({"file": shown_path(store, plan), "readings": count, "content_sha256": content})
    return lines


def stored_readings(plan: Plan) -> list[tuple[Reading, float, float]]:
    """Return every stored reading with latitude and longitude of its installation; [] where none was taken in yet."""
    if not store_of(plan).exists():
        return []
    with open_store(store_of(plan)) as store:
        places = store.places()
        return [(reading, *places[id]) for id in store.ids() for reading in store.readings_of(id)]


def _read(plan: Plan, frames: GroundFrames, on_date: Date | None = None) -> Inputs:
    addresses = list_addresses(plan, frames.systems, frames.inside)
    projected = next((crs for crs in frames.systems if not projection.is_geographic(crs)), "")
    satellites, bad_satellites, notes = read_placed_satellites(plan, on_date)
    transmitters, bad_transmitters = read_transmitters(plan, projected)
    sectors, bad_sectors = read_sectors(plan, projected)
    bad_rows = tuple(row.reject for row in addresses.rows if row.reject is not None)
    rejects = (*bad_rows, *bad_satellites, *bad_transmitters, *bad_sectors)
    plots = read_footprints(plan.mount.plots).footprints if plan.mount.plots is not None else None
    return Inputs(addresses, satellites, transmitters, sectors, rejects, (*addresses.notes, *notes), plots)


def read_inputs_on_ground(plan: Plan) -> tuple[Inputs, GroundFrames]:
    """Return what a plan names, with every row whose ground is unknown turned into a rejected one; also where no row is left.

    Reads the ground around each address. Raises InputError and its kin where a file can't be read at all.
    """
    frames = ground_frames(plan)
    inputs = _read(plan, frames)
    known = ground_known(plan, inputs.addresses, frames)
    rows, lost = [], []
    for row, ground in zip(inputs.addresses.rows, known, strict=True):
        if row.address is None or ground:
            rows.append(row)
            continue
        value = f"{row.address.lat_deg:.6f}, {row.address.lon_deg:.6f}"
        reject = Reject(inputs.addresses.file, row.row, "position", value, told(OUTSIDE))
        rows.append(replace(row, address=None, reject=reject))
        lost.append(reject)
    addresses = replace(inputs.addresses, rows=tuple(rows))
    bad_rows = tuple(row.reject for row in rows if row.reject is not None)
    others = inputs.rejects[len(bad_rows) - len(lost) :]
    return replace(inputs, addresses=addresses, rejects=(*bad_rows, *others)), frames


def ground_known(plan: Plan, addresses: AddressList, frames: GroundFrames) -> Sequence[bool]:
    """Return for each row whether it is placed where the ground is known."""
    out = np.zeros(len(addresses.rows), dtype=bool)
    places = [place for place, row in enumerate(addresses.rows) if row.address is not None]
    lat = np.array([addresses.rows[place].address.lat_deg for place in places])  # type: ignore[union-attr]
    lon = np.array([addresses.rows[place].address.lon_deg for place in places])  # type: ignore[union-attr]
    if places:
        within = frames.inside(lat, lon)
        if within.any():
            around = [(float(a), float(b), NEAR_M) for a, b in zip(lat[within], lon[within], strict=True)]
            surface = load_surface(plan, around=around, far_m=NEAR_M)
            ground, _, _, _ = heights_at(surface, lat_deg=lat, lon_deg=lon)
            out[places] = np.isfinite(ground)
    return out.tolist()


def sender_name(emitter: Transmitter | Sector) -> str:
    """Return what people call a sender: a sector by its site."""
    return getattr(emitter, "site", "") or emitter.name


def stand(surface: Surface, emitters: Iterable) -> tuple[tuple, dict[str, Reason]]:
    """Return the emitters whose antenna stands above known ground, and a reason for each that doesn't, by name.

    Those in the sea or inside a building are kept, and the reason says so: their position or height is likely wrong, nobody knows how.
    """
    emitters = tuple(emitters)
    if not emitters:
        return (), {}
    lat, lon = np.array([e.lat_deg for e in emitters]), np.array([e.lon_deg for e in emitters])
    ground, top, kind, _ = heights_at(surface, lat_deg=lat, lon_deg=lon)
    sea = _in_the_sea(surface, lat, lon, ground)
    kept, unfit, odd = [], {}, {}
    for at, (emitter, ground_amsl_m) in enumerate(zip(emitters, ground.tolist(), strict=True)):
        name = sender_name(emitter)
        stated = emitter.ground_amsl_m
        if not np.isfinite(ground_amsl_m):
            unfit[name] = Reason("emitter_unknown_ground", {"name": name})
        elif np.isfinite(stated) and stated + emitter.antenna_height_agl_m <= ground_amsl_m:
            values = {"name": name, "antenna_amsl_m": stated + emitter.antenna_height_agl_m, "ground_amsl_m": ground_amsl_m}
            unfit[name] = Reason("emitter_under_ground", values)
        else:
            kept.append(emitter)
            foot = stated if np.isfinite(stated) else ground_amsl_m
            over = float(top[at]) - foot if kind[at] in (KIND_BUILDING, KIND_OBJECT) else 0.0
            if sea[at]:
                odd.setdefault(name, Reason("emitter_in_sea", {"name": name}))
            elif over > emitter.antenna_height_agl_m + _ROOF_ERROR_M:
                values = {"name": name, "antenna_m": emitter.antenna_height_agl_m, "building_m": over}
                odd.setdefault(name, Reason("emitter_in_building", values))
    return tuple(kept), odd | unfit


def _in_the_sea(surface: Surface, lat_deg: np.ndarray, lon_deg: np.ndarray, ground_amsl_m: np.ndarray) -> np.ndarray:
    """Return (n,) whether a place lies at or under sea level, and as level as water all around it."""
    out = ground_amsl_m <= 0.0
    if not out.any():
        return out
    for north, east in ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)):
        step = _SEA_AROUND_M / 111_000.0
        lat, lon = lat_deg + north * step, lon_deg + east * step / np.cos(np.radians(lat_deg))
        beside, _, _, _ = heights_at(surface, lat_deg=lat, lon_deg=lon)
        with np.errstate(invalid="ignore"):
            out &= np.isnan(beside) | (np.abs(beside - ground_amsl_m) <= _WATER_LEVEL_M)
    return out


def unfit_senders(plan: Plan, inputs: Inputs) -> tuple[tuple[Reason, ...], tuple[Reason, ...]]:
    """Return why transmitters, and why mobile sites, can't stand where they are said to; reads the ground around each of them."""
    out = []
    for emitters in (inputs.transmitters, inputs.sectors):
        sites = sorted({(one.lat_deg, one.lon_deg) for one in emitters})
        if not sites:
            out.append(())
            continue
        try:
            surface = load_surface(plan, around=[(lat, lon, NEAR_M) for lat, lon in sites], far_m=NEAR_M)
        except RasterError:  # none of the terrain lies near any of them
            out.append(tuple({name: Reason("emitter_unknown_ground", {"name": name}) for name in map(sender_name, emitters)}.values()))
            continue
        out.append(tuple(stand(surface, emitters)[1].values()))
    return out[0], out[1]
