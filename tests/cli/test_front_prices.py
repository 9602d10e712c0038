"""`rockwright front --prices`: what bounds cost a member, and the header's two that cost the front most."""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from optimiser.cli.main import main
from optimiser.report.results.loading import load
from optimiser.search.prices import dearest, prices_of
from optimiser.search.problem import parts_problem_of

FRONT = Path(__file__).parents[2] / "configs" / "front.yaml"


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("front") / "results"
    study = out.parent / "study.yaml"
    study.write_text(FRONT.read_text().replace("arm_sum: minimise", "arm_sum: {aim: 200, scale: 5}"))
    assert main(["search", str(study), "--evaluations", "40000", "--out", str(out)]) == 0
    return out


def test_the_document_has_the_prices_in_the_figures_units(results: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kept, study = load(results), load(results).study()
    member = int(kept.snapshot.ids[len(kept.snapshot.ids) // 2])
    capsys.readouterr()
    assert main(["front", str(results), "--prices", str(member), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["id"] == member
    row = int(np.flatnonzero(kept.snapshot.ids == member)[0])
    problem = parts_problem_of(study)
    problem = problem.kept(np.array(kept.snapshot.margin)) if kept.snapshot.margin else problem
    found = prices_of(problem, kept.snapshot.x[row : row + 1])
    scale = {"heave.progressivity": 1.0, "heave.crosstalk": 1.0, "rocker.arm_sum": 5.0, "rocker.top_height": 1.0}
    ends = {"low": found.low[0], "high": found.high[0]}
    paths = [variable.path for variable in study.variables]
    told = {(one["what"], one["kind"]): one for one in document["prices"]}
    bounds = [key for key in told if key[1] != "goal"]
    assert bounds
    for path, kind in bounds:
        for j, (name, gain) in enumerate(told[path, kind]["gains"].items()):
            price = ends[kind][j, paths.index(path)] * scale[name]
            assert (np.nan if gain is None else gain) == pytest.approx(price, nan_ok=True)
    told_none = [(path, kind) for path in paths for kind in ends if (path, kind) not in told]
    assert all(np.all(ends[kind][:, paths.index(path)] == 0.0) for path, kind in told_none)


def test_the_lines_say_what_a_unit_of_the_dearest_bound_is_worth(
    results: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    main(["front", str(results), "--prices", "knee", "--json"])
    prices = json.loads(capsys.readouterr().out)["prices"]
    assert main(["front", str(results), "--prices", "knee"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 100
    known = [one for one in prices if one["kind"] != "goal" and (one["gains"]["rocker.arm_sum"] or 0.0) > 0.0]
    most = max(known, key=lambda one: one["gains"]["rocker.arm_sum"])
    way = "less" if most["kind"] == "low" else "more"
    start = f"1 {most['unit']} {way} {most['what']}: "
    sentence = next(line for line in lines if line.startswith(start) and line.endswith("aim: rocker.arm_sum"))
    told = float(sentence.removeprefix(start).split()[0])
    assert told == pytest.approx(most["gains"]["rocker.arm_sum"], rel=0.01)


def test_the_header_names_the_two_bounds_that_cost_most(results: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kept, study = load(results), load(results).study()
    problem = parts_problem_of(study)
    problem = problem.kept(np.array(kept.snapshot.margin)) if kept.snapshot.margin else problem
    low, high = dearest(problem, kept.snapshot.x, kept.snapshot.objectives)
    costs = {
        f"{one.path} {end}": float(each[k])
        for end, each in (("low", low), ("high", high))
        for k, one in enumerate(study.variables)
    }
    first, second = sorted(costs, key=lambda name: -costs[name])[:2]
    capsys.readouterr()
    assert main(["front", str(results)]) == 0
    header = " ".join(capsys.readouterr().out.splitlines()[:10])
    assert f"the bounds that cost most: {first} {100 * costs[first]:.2g} %, {second} " in header


@pytest.mark.parametrize(("name", "code"), [("base", 2), ("999999", 2)])
def test_what_is_no_member_has_no_prices(
    results: Path, capsys: pytest.CaptureFixture[str], name: str, code: int
) -> None:
    study = load(results)
    base_is_member = 0 in study.snapshot.ids.tolist()
    assert main(["front", str(results), "--prices", name]) == (0 if name == "base" and base_is_member else code)
    assert "member" in "".join(capsys.readouterr())


def test_prices_that_are_not_asked_for_import_nothing_heavy(results: Path) -> None:
    script = (
        "import sys; from optimiser.cli.main import main; code = main(['front', sys.argv[1]]); "
        "print(code, [name for name in ('numpy', 'scipy', 'numba', 'pymoo', 'yaml') if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(results)],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parents[2],
    )
    assert "the bounds that cost most" in done.stdout
    assert done.stdout.splitlines()[-1] == "0 []"
