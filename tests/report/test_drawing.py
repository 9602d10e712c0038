"""Drawings: what is printed is what is drawn, for every kind of axle; who, whence and the caution on every sheet."""

import math
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from io import StringIO
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from ezdxf.filemanagement import read as read_dxf

from geometry.axle import Axle
from geometry.hardpoints import element_pickups, place
from geometry.motion import move
from geometry.travel import AxleStates
from objectives.evaluate import evaluate
from optimiser.report.drawing.border import BOTTOM, LEFT, RIGHT, TOP, Title
from optimiser.report.drawing.charts import ticks
from optimiser.report.drawing.front_drawing import MOST_DRAWN, NoMatrixError, drawn_rows, front_drawing
from optimiser.report.drawing.marks import SHEET_HEIGHT, SHEET_WIDTH, Anchor, Drawing, Words
from optimiser.report.drawing.painted import as_pdf, as_png
from optimiser.report.drawing.plate import plate_dxf
from optimiser.report.drawing.poses import Line, poses
from optimiser.report.drawing.rocker_sheet import rocker_sweep
from optimiser.report.drawing.study_drawing import study_drawing
from optimiser.report.drawing.svg import as_svg
from optimiser.report.front.frame import Frame, frame
from optimiser.report.results.store import read_store
from optimiser.study.read import read_study
from optimiser.study.study import Study
from tests.axles import KINDS, front, rear, travel_of, with_bars
from tests.report.records import ROOT, front_study, record, saved

SVG = "{http://www.w3.org/2000/svg}"
TITLE = Title('An axle <&> its "name"', "file front.yaml", "0123456789abcdef" * 4, "rockwright 1.2.3")
LETTER = 0.56
"""Width of a letter of the drawing's font as a share of its size, about the mean of plain text."""
CLOSE = 0.01
"""How well a length read back is what it says [mm], [deg]: digits printed after the point are two."""

AXLES = {
    **{kind: make() for kind, make in KINDS.items()},
    "bars": with_bars(rear()),
    "bars and rack": with_bars(front()),
}


def study_of(axle: Axle) -> Study:
    return replace(front_study(), axle=axle, travel=travel_of(axle), goals=())


@cache
def drawn(kind: str) -> Drawing:
    return study_drawing(study_of(AXLES[kind]), TITLE)


def tree_of(drawing: Drawing) -> ElementTree.Element:
    return ElementTree.fromstring(as_svg(drawing))


def points_of(element: ElementTree.Element) -> list[tuple[float, float]]:
    pairs = (pair.split(",") for pair in element.attrib["points"].split())
    return [(float(x), float(y)) for x, y in pairs]


def printed(group: ElementTree.Element) -> float:
    """The number in a dimension's text."""
    (text,) = (words.text or "" for words in group.iter(f"{SVG}text"))
    (found,) = re.findall(r"-?\d+\.\d\d", text)
    return float(found)


def lengths(tree: ElementTree.Element) -> Iterator[tuple[float, float]]:
    """Every length as printed and as drawn [mm of the car]."""
    for group in tree.iter(f"{SVG}g"):
        if group.attrib.get("class") == "length":
            begin, end = points_of(next(group.iter(f"{SVG}polyline")))
            yield printed(group), math.dist(begin, end) / float(group.attrib["data-scale"])


def angles(tree: ElementTree.Element) -> Iterator[tuple[float, float]]:
    """Every angle as printed and as drawn [deg], counter-clockwise on the paper."""
    for group in tree.iter(f"{SVG}g"):
        if group.attrib.get("class") == "angle":
            x, y = (float(value) for value in group.attrib["data-centre"].split(","))
            line = points_of(next(group.iter(f"{SVG}polyline")))
            first, last = (math.atan2(y - point[1], point[0] - x) for point in (line[0], line[-1]))
            yield printed(group), math.degrees(last - first)


@pytest.mark.parametrize("kind", AXLES)
def test_what_is_printed_is_what_is_drawn(kind: str) -> None:
    tree = tree_of(drawn(kind))
    found = [*lengths(tree), *angles(tree)]
    assert len(found) >= 15
    assert [pair for pair in found if abs(pair[0] - pair[1]) > CLOSE] == []


@pytest.mark.parametrize("kind", AXLES)
def test_arms_angles_and_eye_lengths_are_the_axles_own(kind: str) -> None:
    axle, tree = AXLES[kind], tree_of(drawn(kind))
    points = place(axle)
    arms = [points.rod_arm, *(points.arms[name] for name in element_pickups(axle))]
    said = sorted(printed_ for printed_, _ in angles(tree))
    assert said == pytest.approx(sorted(math.degrees(float(arm.angle)) for arm in arms), abs=0.00501)
    printed_lengths = [value for value, _ in lengths(tree)]
    own = [float(arm.length) for arm in arms] + [float(points.rod_length)]
    own += [abs(float(arm.offset)) for arm in arms if abs(float(arm.offset)) > 0.01]
    for length in own:
        assert min(abs(length - value) for value in printed_lengths) < 0.00501


@pytest.mark.parametrize("kind", AXLES)
def test_parts_keep_their_lengths_and_struts_have_those_of_the_motion(kind: str) -> None:
    """Every part is drawn where the motion has it: rods, links, arms and drop links rigid on both sides."""
    axle = AXLES[kind]
    rack = np.array([0.0, 0.0, 12.0 if axle.has_rack else 0.0])
    states = AxleStates(np.array([0.0, 20.0, -11.0]), np.array([0.0, -14.0, 5.0]), rack)
    static, *moved = poses(axle, states)
    motion = move(axle, states)
    for state, pose in enumerate(moved, start=1):
        assert len(pose.lines) == len(static.lines)
        for before, line in zip(static.lines, pose.lines, strict=True):
            assert (before.kind, before.name) == (line.kind, line.name)
            if line.kind == "strut":
                continue
            assert long(line) == pytest.approx(long(before), abs=1e-9)
        for name in axle.struts:
            drawn_lengths = [long(line) for line in pose.lines if line.kind == "strut" and line.name == name]
            assert drawn_lengths[0] == pytest.approx(float(motion.strut(name).length[state]), abs=1e-9)
        centre = axle.wheel.centre[2] + states.z_left[state]
        assert pose.rims[0][:, 2].mean() == pytest.approx(centre, abs=1e-9)


def long(line: Line) -> float:
    return float(np.linalg.norm(line.end - line.begin))


def test_a_strut_is_drawn_static_shortest_and_longest() -> None:
    study = read_study(ROOT / "configs" / "front.yaml")
    tree = tree_of(study_drawing(study, TITLE))
    texts = {words.text for words in tree.iter(f"{SVG}text")}
    assert {"static 444.95", "shortest 401.07", "longest 476.54"} <= texts  # as `analyse` gives them


@pytest.mark.parametrize("kind", AXLES)
def test_every_sheet_has_name_fingerprint_units_axes_and_caution(kind: str) -> None:
    sheets = [element for element in tree_of(drawn(kind)) if element.attrib.get("class") == "sheet"]
    assert len(sheets) == len(drawn(kind).sheets) >= 5
    for sheet in sheets:
        told = " ".join(words.text or "" for words in sheet.iter(f"{SVG}text"))
        assert TITLE.name in told
        assert TITLE.fingerprint in told.replace(" ", "")
        assert "Lengths mm, angles deg. Axes of ISO 8855" in told
        assert "Suspension parts carry lives." in told
        assert "qualified engineer" in told


@pytest.mark.parametrize("kind", AXLES)
def test_nothing_leaves_its_sheet(kind: str) -> None:
    for sheet in drawn(kind).sheets:
        for mark in sheet.marks:
            if isinstance(mark, Words):
                assert inside(mark), mark
    for line in tree_of(drawn(kind)).iter(f"{SVG}polyline"):
        for x, y in points_of(line):
            assert LEFT <= x <= RIGHT
            assert BOTTOM <= SHEET_HEIGHT - y <= TOP


def inside(words: Words) -> bool:
    """Whether a text, as wide as its letters commonly are, ends inside the border."""
    width = LETTER * words.size * len(words.text)
    start = {Anchor.LEFT: 0.0, Anchor.CENTRE: -0.5 * width, Anchor.RIGHT: -width}[words.anchor]
    angle = math.radians(words.angle)
    ends = [words.at[0] + run * math.cos(angle) for run in (start, start + width)]
    heights = [words.at[1] + run * math.sin(angle) for run in (start, start + width)]
    return min(ends) >= LEFT and max(ends) <= RIGHT and min(heights) >= BOTTOM and max(heights) <= TOP


def test_the_shaded_sweep_is_the_figure_and_what_one_wheel_adds_to_it() -> None:
    """Heave and roll of this axle meet at wheel travels of -44 and 48 mm; to -45 mm one wheel goes alone."""
    study = front_study()
    together = replace(study.travel, wheel=(-44.0, 48.0))
    figure = float(evaluate(study.axle, together, ["rocker.sweep"], study.fittings).values["rocker.sweep"])
    found, wider = rocker_sweep(study.axle, together), rocker_sweep(study.axle, study.travel)
    assert found is not None
    assert wider is not None
    assert found.high - found.low == pytest.approx(figure, abs=1e-9)
    assert wider.low < found.low < 0.0 < found.high == wider.high


def test_an_end_of_travel_that_is_not_reached_is_named_and_not_drawn() -> None:
    axle = front()
    travel = replace(travel_of(axle), rack=(-30.0, 400.0))
    told = [
        mark.text
        for mark in study_drawing(replace(study_of(axle), travel=travel), TITLE).sheets[1].marks
        if isinstance(mark, Words)
    ]
    assert "rack +400 mm: wheel_locked, not drawn" in told
    assert "rack -30 mm" in told


def test_springs_bring_rates_and_forces() -> None:
    drawing = study_drawing(read_study(ROOT / "configs" / "front_sprung.yaml"), TITLE)
    told = {mark.text for sheet in drawing.sheets for mark in sheet.marks if isinstance(mark, Words)}
    assert {"Rates per wheel over heave", "Spring forces over roll", "Motion ratio over heave"} <= told
    assert not any("Rates" in words for words in texts_of(drawn("corner struts")))


def texts_of(drawing: Drawing) -> list[str]:
    return [mark.text for sheet in drawing.sheets for mark in sheet.marks if isinstance(mark, Words)]


def test_pdf_and_png_show_every_sheet_and_are_the_same_bytes_again() -> None:
    drawing = drawn("bars")
    pdf, png = as_pdf(drawing), as_png(drawing)
    assert pdf.startswith(b"%PDF")
    assert f"/Count {len(drawing.sheets)}".encode() in pdf
    assert png.startswith(b"\x89PNG")
    width, height = (int.from_bytes(png[start : start + 4]) for start in (16, 20))
    assert height / width == pytest.approx(len(drawing.sheets) * SHEET_HEIGHT / SHEET_WIDTH, rel=1e-3)
    assert as_pdf(drawing) == pdf


@pytest.mark.parametrize("kind", AXLES)
def test_a_plate_has_the_arms_of_its_axle_at_full_size(kind: str) -> None:
    axle = AXLES[kind]
    points = place(axle)
    document = read_dxf(StringIO(plate_dxf(axle, TITLE).decode()))
    assert document.units == 4  # millimetres, as the DXF reference has it
    lines = document.modelspace().query("LINE")
    arms = [points.rod_arm, *(points.arms[name] for name in element_pickups(axle))]
    assert len(lines) == len(arms)
    for line, arm in zip(lines, arms, strict=True):
        begin, end = np.array(line.dxf.start), np.array(line.dxf.end)
        assert np.linalg.norm(end - begin) == pytest.approx(float(arm.length), abs=1e-9)
        assert math.atan2(end[1], end[0]) == pytest.approx(float(arm.angle), abs=1e-9)
        assert end[2] == begin[2] == pytest.approx(float(arm.offset), abs=1e-9)
    centres = {tuple(circle.dxf.center) for circle in document.modelspace().query("CIRCLE")}
    assert centres == {(0.0, 0.0, 0.0), *(tuple(line.dxf.end) for line in lines)}
    told = " ".join(text.dxf.text for text in document.modelspace().query("TEXT"))
    assert "qualified engineer" in told
    assert TITLE.fingerprint in told


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> Frame:
    """A front with forty members and a base."""
    return frame(read_store(saved(tmp_path_factory.mktemp("results") / "front", *record(40))))


def test_a_front_is_every_objective_against_every_other(result: Frame) -> None:
    tree = tree_of(front_drawing(result, TITLE))
    objectives = len(result.store.manifest.objectives)
    panels = objectives * (objectives - 1) // 2
    texts = [words.text for words in tree.iter(f"{SVG}text")]
    assert sum(text in ("base", "base, further out") for text in texts) == texts.count("knee") == panels
    assert len(list(tree.iter(f"{SVG}circle"))) == panels * result.members + 1  # and the one that explains them
    assert f"diamond: the knee, member {result.table.ids[result.knee]}" in texts


def test_members_stand_where_their_figures_say(result: Frame) -> None:
    """In the first panel places are straight lines of figures: three members fix it, all others lie on it."""
    tree = tree_of(front_drawing(result, TITLE))
    circles = list(tree.iter(f"{SVG}circle"))[1 : 1 + result.members]
    first, second = (goal.figure for goal in result.store.manifest.objectives[:2])
    for figure, axis in ((first, "cx"), (second, "cy")):
        values = np.array(result.table.figures[figure][: result.members])
        places = np.array([float(circle.attrib[axis]) for circle in circles])
        slope, start = np.polyfit(values, places, 1)
        assert np.abs(slope * values + start - places).max() < 1e-4
        assert slope > 0.0 if axis == "cx" else slope < 0.0


def test_a_large_front_is_thinned_and_says_so(tmp_path: Path) -> None:
    large = frame(read_store(saved(tmp_path / "large", *record(MOST_DRAWN + 700))))
    rows = drawn_rows(large)
    assert MOST_DRAWN <= len(rows) <= MOST_DRAWN + 4
    for column in large.table.objectives.values():
        assert column.index(min(column[: large.members])) in rows
    assert any(
        f"{len(rows):,} of {large.members:,} members drawn" in text for text in texts_of(front_drawing(large, TITLE))
    )


def test_a_base_far_from_the_members_stands_on_the_edge_and_leaves_them_their_room(result: Frame) -> None:
    first, second = (goal.figure for goal in result.store.manifest.objectives[:2])
    assert result.base is not None
    columns = dict(result.table.figures)
    for figure, distance in ((first, 100.0), (second, 0.0)):
        members = columns[figure][: result.members]
        columns[figure] = list(columns[figure])
        columns[figure][result.base] = max(members) + distance * (max(members) - min(members))
    far = front_drawing(replace(result, table=replace(result.table, figures=columns)), TITLE)
    assert "base, further out" in texts_of(far)
    circles = list(tree_of(far).iter(f"{SVG}circle"))[1 : 1 + result.members]
    places = [float(circle.attrib["cx"]) for circle in circles]
    assert max(places) - min(places) > 0.8 * (RIGHT - LEFT - 24.0) / 3.0 - 3.0


@pytest.mark.parametrize("low", [-0.37, 0.0, 17.3, 1e5])
@pytest.mark.parametrize("width", [1e-3, 0.9, 4.1, 137.0, 9e4])
@pytest.mark.parametrize("most", [2, 3, 5, 12])
def test_ticks_are_round_few_and_at_least_two(low: float, width: float, most: int) -> None:
    found = ticks((low, low + width), most)
    assert 2 <= len(found) <= 2 * most + 1
    assert low - 1e-9 * width <= found[0] < found[-1] <= low + width * (1.0 + 1e-9)
    step = found[1] - found[0]
    assert round(step / 10.0 ** np.floor(np.log10(step) + 1e-6), 4) in (1.0, 2.0, 5.0)


def test_one_objective_makes_no_matrix(result: Frame) -> None:
    manifest = result.store.manifest
    single = replace(manifest, goals=tuple(goal for goal in manifest.goals if goal.held) + manifest.objectives[:1])
    with pytest.raises(NoMatrixError, match="1 objective, and a matrix sets two or more"):
        front_drawing(replace(result, store=replace(result.store, manifest=single)), TITLE)
