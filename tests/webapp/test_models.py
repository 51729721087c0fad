"""Models of pieces: measured as geometry says, refused in words, and taken into jobs."""

from __future__ import annotations

import io
import math
import struct
import zipfile

import httpx
import numpy as np
import pytest
import trimesh
from stl.mesh import Mesh

from domain.errors import InvalidValue
from domain.models.fit import on_the_tree, pieces_per_tree
from domain.models.shape import Model, ModelUnit, figures
from domain.mould.rings import TreePiece, pack_rings
from domain.mould.tree import tree_space
from domain.shop.flask import FlaskSize
from domain.shop.jobs import Job
from domain.shop.shop import ShopRules
from domain.units import Length, Volume
from webapp.meshes.read import read_model
from webapp.store import models, nouns
from webapp.store.engine import Database

ROOM = Length.mm(150)
PNG = b"\x89PNG\r\n\x1a\n"


def stl(mesh: trimesh.Trimesh) -> bytes:
    data = mesh.export(file_type="stl")
    assert isinstance(data, bytes)
    return data


def box(x: float = 20, y: float = 10, z: float = 4) -> trimesh.Trimesh:
    return trimesh.creation.box((x, y, z))


def read(data: bytes, name: str = "piece.stl") -> Model:
    return read_model(name, data, ROOM)[0]


def refused(data: bytes, name: str = "piece.stl") -> str:
    with pytest.raises(InvalidValue) as error:
        read(data, name)
    return str(error.value)


BALL = trimesh.creation.icosphere(subdivisions=5, radius=5)
RING = trimesh.creation.torus(9, 1.2, major_sections=200, minor_sections=80)
ROD = trimesh.creation.cylinder(3, 12, sections=400)


@pytest.mark.outside("closed forms of ball, torus and cylinder: I. N. Bronshtein et al., Handbook of Mathematics (from memory)")
@pytest.mark.parametrize(
    ("mesh", "volume", "surface"),
    [
        (BALL, 4 / 3 * math.pi * 5**3, 4 * math.pi * 5**2),
        (RING, 2 * math.pi**2 * 9 * 1.2**2, 4 * math.pi**2 * 9 * 1.2),
        (ROD, math.pi * 3**2 * 12, 2 * math.pi * 3 * (3 + 12)),
    ],
)
def test_fine_meshes_measure_what_geometry_says(mesh: trimesh.Trimesh, volume: float, surface: float) -> None:
    shape = read(stl(mesh)).shape
    assert shape.volume == pytest.approx(volume, rel=2e-3)
    assert shape.surface == pytest.approx(surface, rel=2e-3)


@pytest.mark.outside("numpy-stl, get_mass_properties: volume and centre of mass")
@pytest.mark.parametrize("mesh", [BALL, RING, trimesh.creation.cone(4, 9, sections=90), box()])
def test_volume_and_centre_are_those_of_another_library(mesh: trimesh.Trimesh) -> None:
    data = stl(mesh)
    shape = read(data).shape
    other = Mesh.from_file("piece.stl", fh=io.BytesIO(data))
    volume, centre, _ = other.get_mass_properties()
    assert shape.volume == pytest.approx(float(volume), rel=1e-4)
    low, high = other.min_, other.max_
    assert shape.middle == pytest.approx(((centre - low) / (high - low)).tolist(), abs=1e-3)


@pytest.mark.parametrize(
    ("mesh", "thinnest"),
    [(box(20, 10, 0.8), 0.8), (trimesh.creation.annulus(8, 9.2, 5, sections=180), 1.2), (BALL, 10), (RING, 2.4)],
)
def test_the_thinnest_section_is_that_of_walls_rods_and_balls(mesh: trimesh.Trimesh, thinnest: float) -> None:
    found = read(stl(mesh)).shape.thinnest
    assert found is not None
    assert 0.88 * thinnest <= found <= 1.02 * thinnest


def test_a_turned_wall_is_as_thin() -> None:
    mesh = box(20, 10, 0.8)
    mesh.apply_transform(trimesh.transformations.rotation_matrix(0.6, (1, 2, 3)))
    assert read(stl(mesh)).shape.thinnest == pytest.approx(0.8, rel=0.13)


@pytest.mark.parametrize("kind", ["stl", "stl_ascii", "obj"])
def test_every_kind_of_file_measures_alike(kind: str) -> None:
    data = box().export(file_type=kind)
    shape = read(data if isinstance(data, bytes) else data.encode(), f"piece.{kind[:3]}").shape
    assert shape.volume == pytest.approx(800)
    assert sorted(shape.sides) == pytest.approx([4, 10, 20])


MODEL_3MF = """<?xml version="1.0"?>{dtd}<model unit="{unit}" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">
<resources><object id="1"><mesh><vertices>{vertices}</vertices><triangles>{triangles}</triangles></mesh></object>{more}</resources>
<build>{build}</build></model>"""


def threemf(
    unit: str = "millimeter",
    dtd: str = "",
    more: str = "",
    build: str = '<item objectid="1"/>',
    mesh: trimesh.Trimesh | None = None,
) -> bytes:
    mesh = mesh or box()
    text = MODEL_3MF.format(
        unit=unit,
        dtd=dtd,
        more=more,
        build=build,
        vertices="".join(f'<vertex x="{x}" y="{y}" z="{z}"/>' for x, y, z in mesh.vertices),
        triangles="".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.faces),
    )
    return zipped({"3D/3dmodel.model": text.encode()})


def zipped(files: dict[str, bytes]) -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in files.items():
            archive.writestr(name, text)
    return data.getvalue()


@pytest.mark.parametrize(("unit", "scale"), [("millimeter", 1), ("inch", 25.4), ("micron", 0.001)])
def test_3mf_says_its_unit(unit: str, scale: float) -> None:
    model = read(threemf(unit, mesh=box(4 / scale, 3 / scale, 2 / scale)), "piece.3mf")
    assert model.unit is not None
    assert figures(model.shape, model.unit).volume.to("mm³") == pytest.approx(24, rel=1e-4)


def test_parts_of_3mf_stand_where_they_are_put() -> None:
    moved = '<object id="2"><components><component objectid="1" transform="2 0 0 0 1 0 0 0 1 50 0 0"/></components></object>'
    shape = read(threemf(more=moved, build='<item objectid="1"/><item objectid="2"/>'), "two.3mf").shape
    assert (shape.volume, shape.bodies) == (pytest.approx(800 + 1600), 2)


def test_3mf_cannot_grow_when_it_is_read() -> None:
    assert "larger than" in refused(zipped({"3D/3dmodel.model": b" " * 130_000_000}), "bomb.3mf")
    entity = '<!DOCTYPE model [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>'
    assert "document type" in refused(threemf(dtd=entity), "bomb.3mf")
    tenfold = "".join(
        f'<object id="{n}"><components>{f"<component objectid={chr(34)}{n - 1}{chr(34)}/>" * 10}</components></object>'
        for n in range(2, 9)
    )
    assert "too" in refused(threemf(more=tenfold, build='<item objectid="8"/>'), "bomb.3mf")
    assert "cut off" in refused(threemf()[:-40], "cut.3mf")
    assert "no 3D model" in refused(zipped({"a.txt": b"a"}), "no.3mf")


def test_holes_are_counted_and_placed() -> None:
    mesh = box()
    mesh.update_faces(np.arange(len(mesh.faces)) != 3)
    assert "holes: 3 edges" in refused(stl(mesh))


def test_one_triangle_turned_round_is_refused_and_all_of_them_are_turned_back() -> None:
    mesh = box()
    faces = mesh.faces.copy()
    faces[2] = faces[2][::-1]
    assert "inwards" in refused(stl(trimesh.Trimesh(mesh.vertices, faces, process=False)))
    mesh.invert()
    shape = read(stl(mesh)).shape
    assert (shape.volume, shape.turned) == (pytest.approx(800), True)


def test_two_bodies_apart_are_told_and_within_each_other_refused() -> None:
    apart, within = box(), box()
    apart.apply_translation((40, 0, 0))
    within.apply_translation((5, 3, 1))
    assert read(stl(trimesh.util.concatenate([box(), apart]))).shape.bodies == 2
    assert "counted twice" in refused(stl(trimesh.util.concatenate([box(), within])))


def test_a_closed_cavity_takes_no_metal() -> None:
    hollow = box(10, 5, 2)
    hollow.invert()
    shape = read(stl(trimesh.util.concatenate([box(), hollow]))).shape
    assert (shape.volume, shape.bodies, shape.cavities) == (pytest.approx(700), 1, 1)


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("piece.stl", b"", "empty"),
        ("piece.step", b"x", "ends in"),
        ("piece.stl", stl(box())[:-120], "ends too early"),
        ("piece.stl", b"\x89PNG" * 40, "not an STL"),
        ("piece.stl", b"solid a\nfacet normal 0 0 1\nouter loop\n", "ends too early"),
        ("piece.stl", b"\0" * 80 + struct.pack("<I", 0), "not one triangle"),
        ("piece.obj", b"v 0 0 0\nv 1 0 0\n", "no line"),
        ("piece.obj", b"v 0 0 0\nv 1 0 0\nf 1 2 9\n", ""),
        ("piece.3mf", b"PK nothing", "cut off"),
    ],
)
def test_what_is_no_model_is_refused_in_words(name: str, data: bytes, words: str) -> None:
    assert words in refused(data, name)


def test_coordinates_must_be_numbers() -> None:
    data = bytearray(stl(box()))
    data[84 + 12 : 84 + 16] = struct.pack("<f", math.nan)
    assert "no numbers" in refused(bytes(data))


@pytest.mark.parametrize(("longest", "unit"), [(24, ModelUnit.MM), (0.9, ModelUnit.INCH), (4, None), (500, None)])
def test_a_doubtful_unit_is_asked(longest: float, unit: ModelUnit | None) -> None:
    assert read(stl(box(longest, longest / 2, longest / 4))).unit is unit


FLASK = FlaskSize(
    id="a",
    name="a",
    inner_diameter=Length.mm(89),
    height=Length.mm(127),
    wall=Length.mm(3),
    perforated=False,
    owned=2,
    burnout_minutes=600,
    cost=1,
    base_height=Length.mm(20),
    trunk_diameter=Length.mm(8),
    button_volume=Volume.cm3(3),
)


def test_as_many_pieces_as_the_rings_hold_stand_on_the_tree_and_not_one_more() -> None:
    rules = ShopRules()
    model = read(stl(box()))
    tree = on_the_tree(figures(model.shape, ModelUnit.MM), model.shape, [FLASK], rules)
    pieces = tree.fits[0].pieces
    assert pieces == pieces_per_tree(tree.size, FLASK, rules) > 0

    def packs(count: int) -> bool:
        return pack_rings([TreePiece("j", tree.size, count)], tree_space(FLASK, rules), rules) is not None

    assert packs(pieces)
    assert not packs(pieces + 1)


JOB = {
    "id": "J-1",
    "item": "plate",
    "alloy": "silver-925",
    "section": "thin",
    "material": "injection-wax",
    "quantity": "3",
    "pattern_mass": "0.9 g",
    "size.width": "9",
    "size.height": "9",
    "size.reach": "9",
    "ready": "2026-03-02",
    "due": "2026-03-09",
    "weight": "1",
    "may_split": "on",
}


async def bring(client: httpx.AsyncClient, data: bytes, name: str = "plate.stl", job: str = "") -> httpx.Response:
    return await client.post("/models", data={"job": job}, files={"file": (name, data)})


@pytest.mark.anyio
async def test_a_model_on_a_job_gives_its_metal_and_its_figures(client: httpx.AsyncClient, db: Database) -> None:
    assert (await client.post("/jobs", data=JOB)).status_code == 303
    address = (await bring(client, stl(box()), job="J-1")).headers["location"]
    page = (await client.get(address)).text
    assert "800.0" in page
    assert "Put the model's figures into the job" in page
    assert "8.29" in page  # 0.8 cm³ of silver 925 at 10.36 g/cm³
    assert (await client.get(f"{address}/picture.png")).content.startswith(PNG)
    assert (await client.get(f"{address}/figures.json")).json()["shape"]["triangles"] == 12
    assert (await client.post(f"{address}/take")).headers["location"] == "/jobs/J-1"
    with db.read() as session:
        job = nouns.find(session, Job, "J-1")
    assert job is not None
    assert (job.metal_volume, job.pattern_mass) == (Volume.mm3(800), None)
    assert {job.size.width, job.size.height, job.size.reach} == {Length.mm(20), Length.mm(10), Length.mm(4)}
    assert "The job has these figures." in (await client.get(address)).text
    assert address in (await client.get("/jobs/J-1")).text
    await client.post(f"{address}/remove")
    with db.read() as session:
        assert models.of_job(session, "J-1") is None


@pytest.mark.anyio
async def test_a_new_job_begins_with_a_model_whose_unit_was_asked(client: httpx.AsyncClient, db: Database) -> None:
    address = (await bring(client, stl(box(4, 2, 1)))).headers["location"]
    assert "Which is it?" in (await client.get(address)).text
    assert (await client.post(f"{address}/unit", data={"unit": "ell"})).status_code == 422
    await client.post(f"{address}/unit", data={"unit": "in"})
    form = (await client.get(f"/jobs/new?model={address.rpartition('/')[2]}")).text
    assert 'value="131096.512' in form
    typed = {**JOB, "pattern_mass": "", "metal_volume": "131096.512", "model": address.rpartition("/")[2]}
    assert (await client.post("/jobs", data=typed)).status_code == 303
    with db.read() as session:
        stored = models.of_job(session, "J-1")
    assert stored is not None
    assert stored.model.unit is ModelUnit.INCH


@pytest.mark.anyio
async def test_a_broken_or_too_large_file_is_refused_beside_its_field(client: httpx.AsyncClient) -> None:
    broken = await bring(client, stl(box())[:-50])
    assert (broken.status_code, "ends too early" in broken.text) == (422, True)
    assert (await client.post("/models", data={"job": ""})).status_code == 422
    large = await bring(client, b"\0" * (25 * 1024 * 1024))
    assert large.status_code in (413, 422)
    assert "larger than" in large.text
    fine = trimesh.creation.icosphere(subdivisions=6, radius=8)
    coarse_limit = stl(trimesh.util.concatenate([fine.copy().apply_translation((0, 0, 20 * n)) for n in range(2)]))
    assert len(coarse_limit) > 6_000_000
    assert (await bring(client, coarse_limit)).status_code == 303
