"""Rasters as they come, through the command line: read rightly whatever their shape, or refused in one message that says what to do."""

import math

import numpy as np
import pytest
from rasterio.transform import Affine
from small_job import ADDRESSES, CELL, SATELLITES, SECTORS, SIDE, TABLES, TRANSMITTERS, heights, place
from terrain_makers import ORIGIN, write_tif

NORTH_UP = Affine(CELL, 0, ORIGIN[0], 0, -CELL, ORIGIN[1])


@pytest.fixture
def whole(job):
    """A job with a sender of each kind, and a way to run it over other rasters: extra keys and files of one [[terrain]] table."""
    job.write("satellites.csv", SATELLITES)
    lat, lon = place(900, 100)
    job.write("transmitters.csv", TRANSMITTERS.replace("x,y", "lat_deg,lon_deg") + f"Hill,{lat},{lon},,60,M,24,1,h,DVB-T2 256QAM 2/3\n")
    job.write("sectors.csv", SECTORS.replace("x,y", "lat_deg,lon_deg") + f"Corvid,Mast,1,{lat},{lon},30,LTE,800,806,20,200\n")

    def over(ground="ground.tif", surface="surface.tif", keys=""):
        second = f"surface = '{surface}'\n" if surface else ""
        job.plan(TABLES, terrain=f"[[terrain]]\nground = '{ground}'\n{second}{keys}")
        return job.tables()

    over.job = job
    return over


def save(job, ground, top, **how):
    write_tif(job.folder / "ground.tif", ground, **how)
    write_tif(job.folder / "surface.tif", top, **how)


@pytest.fixture
def plain(whole, land):
    """The verdicts over the land as it is."""
    done = whole(land / "ground.tif", land / "surface.tif")
    assert done.code == 0, done.err
    return whole.job.verdicts()


def alike(one, other, *, rel=0.0, tol=0.11):
    """Two runs say the same: words equal, figures within their last digit."""
    for left, right in zip(one, other, strict=True):
        assert left.keys() == right.keys()
        for key, value in left.items():
            try:
                a, b = float(value), float(right[key])
            except ValueError:
                if not key.endswith(("_reasons", "_how_sure", "_multiplexes", "visible_arc")):
                    assert value == right[key], key
                continue
            assert math.isclose(a, b, rel_tol=rel, abs_tol=tol), (key, a, b)


# ---- the same land, written otherwise ------------------------------------------------------------------------------


@pytest.mark.parametrize("how", ["south up", "turned by 90 degrees", "columns from the east"])
def test_rows_and_columns_may_run_any_way(whole, plain, how):
    ground, top = heights()
    if how == "south up":
        ground, top, transform = ground[::-1], top[::-1], NORTH_UP @ Affine(1, 0, 0, 0, -1, SIDE)
    elif how == "columns from the east":
        ground, top, transform = ground[:, ::-1], top[:, ::-1], NORTH_UP @ Affine(-1, 0, SIDE, 0, 1, 0)
    else:
        ground, top, transform = ground.T, top.T, NORTH_UP @ Affine(0, 1, 0, 1, 0, 0)
    save(whole.job, np.ascontiguousarray(ground), np.ascontiguousarray(top), transform=transform, nodata=-9999)
    done = whole()
    assert done.code == 0, done.err
    alike(plain, whole.job.verdicts())


@pytest.mark.parametrize(
    ("factor", "dtype", "tag", "keys"),
    [
        (1 / 0.3048, "float32", "ft", ""),
        (1 / 0.3048, "float32", None, "vertical_unit = 'ft'\n"),
        (3937 / 1200, "float32", None, "vertical_unit = 'us-ft'\n"),
        (100.0, "int32", "cm", ""),
        (100.0, "int32", None, "vertical_unit = 'cm'\n"),
    ],
    ids=["feet by tag", "feet by key", "survey feet by key", "centimetres by tag", "centimetres by key"],
)
def test_feet_and_centimetres(whole, plain, factor, dtype, tag, keys):
    ground, top = (np.asarray(z, dtype=np.float64) * factor for z in heights())
    if dtype == "int32":
        ground, top = np.rint(ground), np.rint(top)
    save(whole.job, ground.astype(dtype), top.astype(dtype), cell=CELL, unit=tag)
    done = whole(keys=keys)
    assert done.code == 0, done.err
    alike(plain, whole.job.verdicts(), tol=0.3)


def test_degrees_and_another_system_give_the_same_verdicts(whole, plain, land):
    from rasterio.warp import Resampling, calculate_default_transform, reproject

    bounds = (ORIGIN[0], ORIGIN[1] - SIDE * CELL, ORIGIN[0] + SIDE * CELL, ORIGIN[1])
    for crs in ("EPSG:4326", "EPSG:3035", "EPSG:32632"):
        transform, width, high = calculate_default_transform("EPSG:32633", crs, SIDE, SIDE, *bounds)
        for name, z in zip(("ground", "surface"), heights(), strict=True):
            out = np.full((high, width), -9999, dtype=np.float32)
            reproject(
                z, out, src_transform=NORTH_UP, src_crs="EPSG:32633", dst_transform=transform, dst_crs=crs, dst_nodata=-9999,
                resampling=Resampling.bilinear,
            )  # fmt: skip
            write_tif(whole.job.folder / f"{name}.tif", out, transform=transform, crs=crs, nodata=-9999)
        done = whole()
        assert done.code == 0, (crs, done.err)
        rows = whole.job.verdicts()
        for key in ("satellite_verdict", "terrestrial_verdict", "mobile_verdict", "terrestrial_transmitter", "mobile_site"):
            assert [row[key] for row in rows] == [row[key] for row in plain], (crs, key)
        for key in ("ground_amsl_m", "satellite_10e_azimuth_deg", "terrestrial_bearing_deg"):
            assert [float(row[key]) for row in rows] == pytest.approx([float(row[key]) for row in plain], abs=0.25), (crs, key)


def test_voids_tagged_or_by_the_plan_are_no_heights(whole, land):
    ground, top = heights()
    hole = (slice(340, 360), slice(340, 360))  # around the third address
    for mark, keys, tag in ((-9999.0, "", -9999), (32767.0, "nodata = 32767\n", None), (np.nan, "", None)):
        ground[hole] = top[hole] = mark
        save(whole.job, ground, top, cell=CELL, nodata=tag)
        done = whole(keys=keys)
        assert done.code == 0, done.err
        rows = whole.job.verdicts()
        assert [row["satellite_verdict"] == "not judged" for row in rows] == [False, False, True]
        assert rows[2]["satellite_reasons"] == "No ground data reach this address."


# ---- refused -------------------------------------------------------------------------------------------------------


def broken(kind, job):
    ground, top = heights()
    path = job.folder / "ground.tif"
    write_tif(path, ground, cell=CELL)
    if kind == "truncated":
        path.write_bytes(path.read_bytes()[: len(path.read_bytes()) // 2])
    elif kind == "empty":
        path.write_bytes(b"")
    elif kind == "text":
        path.write_text("please find the terrain attached\n")
    elif kind == "web page":
        path.write_text("<!doctype html><title>404</title>")
    elif kind == "no crs":
        write_tif(path, ground, cell=CELL, crs=None)
    elif kind == "picture":
        write_tif(path, np.zeros((3, 20, 20), dtype=np.uint8), cell=CELL)
    elif kind == "one row":
        write_tif(path, ground[:1], cell=CELL)
    elif kind == "all void":
        write_tif(path, np.full_like(ground, -9999), cell=CELL, nodata=-9999)
    elif kind == "infinities":
        ground[5, 5] = np.inf
        write_tif(path, ground, cell=CELL)
    elif kind == "untagged void":
        ground[:3, :7] = 32767
        write_tif(path, ground, cell=CELL)
    elif kind == "too high":
        ground[0, :4] = 9500.0
        write_tif(path, ground, cell=CELL)
    elif kind == "centimetres":
        write_tif(path, (ground * 100).astype(np.int32), cell=CELL)
    elif kind == "feet of position":
        write_tif(path, ground, transform=Affine(6.56, 0, 1e6, 0, -6.56, 1e6), crs="EPSG:2994")
    elif kind == "missing":
        path.rename(job.folder / "grnd.tif")
    return path


@pytest.mark.parametrize(
    ("kind", "says"),
    [
        ("truncated", ("damaged or cut short", "fetch it again")),
        ("empty", ("the file is empty (0 bytes)",)),
        ("text", ("this is a text file, not a raster of heights",)),
        ("web page", ("web page", "fetch it again")),
        ("no crs", ("names no coordinate system", 'crs = "EPSG:')),
        ("picture", ("this is a picture, not heights", "name the file with the elevations")),
        ("one row", ("only 1 × 500 cells",)),
        ("all void", ("all 250,000 cells are void",)),
        ("infinities", ("1 of 250,000 cells hold infinity",)),
        ("untagged void", ("21 of 250,000 cells hold 32767", "untagged void", "`nodata`")),
        ("too high", ("4 of 250,000 cells are above 9,000 m (up to 9,500 m)", "`nodata`")),
        ("centimetres", ("nothing says their unit", 'vertical_unit = "cm"')),
        ("feet of position", ("count in feet", 'vertical_unit = "ft"')),
        ("missing", ("no such file", "did you mean grnd.tif?")),
    ],
)
def test_a_raster_of_no_use_is_one_message_and_nothing_written(whole, kind, says):
    broken(kind, whole.job)
    done = whole(surface=None)
    assert done.code == 3 and done.err.splitlines()[-1].startswith("siteplan: ")
    assert "ground.tif" in done.err
    for part in says:
        assert part in done.err
    assert not any(whole.job.out.rglob("*.csv"))
    checked = whole.job.check()
    assert checked.code == 3 and "ground.tif" in checked.err


def test_a_surface_under_its_ground_and_layers_that_do_not_meet(whole):
    ground, top = heights()
    save(whole.job, top + 5, ground, cell=CELL)
    done = whole()
    assert done.code == 3 and "half of it lies more than 5.0 m under its ground ground.tif; are the two swapped" in done.err
    write_tif(whole.job.folder / "ground.tif", ground, cell=CELL)
    write_tif(whole.job.folder / "surface.tif", top, cell=CELL, origin=(ORIGIN[0] + 5000, ORIGIN[1]))
    done = whole()
    assert done.code == 3 and "surface.tif and ground.tif do not overlap" in done.err and "[[terrain]]" in done.err


def test_a_shifted_surface_is_warned_of_and_used(whole):
    rng = np.random.default_rng(4)
    ground, _ = heights()
    ground += np.repeat(np.repeat(rng.normal(0, 3, (50, 50)), 10, 0), 10, 1).astype(np.float32)
    save(whole.job, ground, ground, cell=CELL)
    write_tif(whole.job.folder / "surface.tif", np.roll(ground, (2, 3), (0, 1)), cell=CELL)
    done = whole()
    assert done.code == 0, done.err
    for said in (done.out, whole.job.check().out):
        assert "surface.tif: the surface seems shifted against the ground ground.tif: they fit best with the surface moved -3 cells" in said


def test_no_layer_touches_any_address_is_an_error_and_one_outside_is_not(whole, land):
    write_tif(whole.job.folder / "ground.tif", np.full((50, 50), 10, dtype=np.float32), cell=CELL, origin=(600_000, 5_200_000))
    done = whole(surface=None)
    assert done.code == 3 and "none of 3 placed rows lies on the ground of this plan, which covers latitude 46.9" in done.err
    lat, lon = place(5000, 5000)
    whole.job.write("addresses.csv", ADDRESSES + f"4,Far Lane,{lat},{lon}\n")
    done = whole(land / "ground.tif", land / "surface.tif")
    assert done.code == 0, done.err
    assert [row["satellite_verdict"] == "not judged" for row in whole.job.verdicts()] == [False, False, False, True]


def test_a_wrong_crs_of_the_plan_is_found(whole, land):
    done = whole(land / "ground.tif", None, keys="crs = 'EPSG:25832'\n")
    assert done.code == 3 and "put it" in done.err and "remove `crs` from the plan" in done.err
    done = whole(land / "ground.tif", None, keys="crs = 'EPSG:nonsense'\n")
    assert done.code == 3 and "which is no CRS" in done.err
