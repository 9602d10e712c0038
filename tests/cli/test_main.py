"""The command line's frame: help, choice of command, the one boundary of errors, closed pipes."""

import argparse
import os
import re
import subprocess
import sys
from collections.abc import Callable
from types import SimpleNamespace

import pytest

from optimiser.cli.main import COMMANDS, main
from optimiser.errors import RockwrightError

RUN = "from optimiser.cli.main import run; run()"


class AnswerIsNoError(RockwrightError):
    """A mistake that ends with 1."""

    exit_code = 1


@pytest.fixture
def command(monkeypatch: pytest.MonkeyPatch) -> Callable[[Callable[[argparse.Namespace], int]], None]:
    """Puts a function in the place of the command `check`."""

    def install(work: Callable[[argparse.Namespace], int]) -> None:
        def add_arguments(parser: argparse.ArgumentParser) -> None:
            parser.add_argument("--number", type=int, default=7)

        stand_in = SimpleNamespace(HELP="Stands in.", EXAMPLE="rockwright check", add_arguments=add_arguments, run=work)
        monkeypatch.setattr("optimiser.cli.main._load", lambda _: stand_in)

    return install


def rockwright(*words: str, **variables: str) -> subprocess.CompletedProcess[str]:
    """The command line in a process of its own."""
    environment = {**os.environ, **variables}
    return subprocess.run(
        [sys.executable, "-c", RUN, *words], capture_output=True, text=True, check=False, env=environment
    )


def test_help_names_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["-h"]) == 0
    shown = capsys.readouterr().out
    assert [name for name in COMMANDS if not re.search(rf"\n    {name}\s", shown)] == []


@pytest.mark.parametrize("name", COMMANDS)
def test_each_command_explains_itself_with_an_example(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([name, "-h"]) == 0
    shown = capsys.readouterr().out
    assert f"example:\n  rockwright {name}" in shown
    assert "show this help" in shown
    assert [line for line in shown.split("\n") if len(line) > 100] == []


@pytest.mark.parametrize("words", [["-h"], ["check", "-h"], ["nonsense"]])
def test_help_imports_nothing_heavy(words: list[str]) -> None:
    heavy = ["numpy", "yaml", "rich", "scipy", "pymoo", "typing", "dataclasses"][: 7 if words == ["-h"] else 5]
    start = f"import sys; from optimiser.cli.main import main; main({words!r})"
    script = f"{start}; sys.exit(bool(set({heavy}) & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", script], capture_output=True, check=False).returncode == 0


@pytest.mark.parametrize("words", [[], ["nonsense"], ["check"], ["check", "a", "b"], ["check", "--nonsense", "a"]])
def test_a_wrong_command_line_is_faulty_input(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 2
    assert "usage: rockwright" in capsys.readouterr().err


def test_a_commands_arguments_and_code_pass_through(
    command: Callable[[Callable[[argparse.Namespace], int]], None],
) -> None:
    command(lambda args: int(args.number))
    assert main(["check"]) == 7
    assert main(["check", "--number", "1"]) == 1


BOUNDARY: dict[str, tuple[BaseException, int, str]] = {
    "the user's": (RockwrightError("mend this"), 2, "mend this\n"),
    "no": (AnswerIsNoError("nothing found"), 1, "nothing found\n"),
    "the system's": (FileNotFoundError(2, "No such file or directory", "out.yaml"), 2, "out.yaml: No such file"),
    "interrupted": (KeyboardInterrupt(), 130, "interrupted\n"),
    "ours": (ZeroDivisionError("by zero"), 3, "a defect of ours (ZeroDivisionError: by zero)"),
}


@pytest.mark.parametrize(("error", "code", "told"), BOUNDARY.values(), ids=BOUNDARY)
def test_each_kind_of_error_has_its_code_and_no_traceback(
    error: BaseException,
    code: int,
    told: str,
    command: Callable[[Callable[[argparse.Namespace], int]], None],
    capsys: pytest.CaptureFixture[str],
) -> None:
    def fail(_: argparse.Namespace) -> int:
        raise error

    command(fail)
    assert main(["check"]) == code
    shown = capsys.readouterr()
    assert shown.err.startswith(told) or told in shown.err
    assert shown.err.count("\n") == 1
    assert shown.out == ""


@pytest.mark.parametrize("words", [["check", "--trace"], ["--trace", "check"]])
def test_trace_shows_where_a_defect_is(
    words: list[str],
    command: Callable[[Callable[[argparse.Namespace], int]], None],
    capsys: pytest.CaptureFixture[str],
) -> None:
    def fail(_: argparse.Namespace) -> int:
        raise ZeroDivisionError

    command(fail)
    assert main(words) == 3
    assert "Traceback" in capsys.readouterr().err


def test_the_environment_can_ask_for_the_trace(
    command: Callable[[Callable[[argparse.Namespace], int]], None],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fail(_: argparse.Namespace) -> int:
        raise ZeroDivisionError

    command(fail)
    monkeypatch.setenv("ROCKWRIGHT_TRACE", "1")
    assert main(["check"]) == 3
    assert "Traceback" in capsys.readouterr().err


def test_a_closed_pipe_ends_silently() -> None:
    pipe = f"{sys.executable} -c '{RUN}' check configs/front.yaml --json | true; echo ${{PIPESTATUS[0]}}"
    buffered = {name: value for name, value in os.environ.items() if name != "PYTHONUNBUFFERED"}
    ended = subprocess.run(["bash", "-c", pipe], capture_output=True, text=True, check=False, env=buffered)
    assert (ended.stdout, ended.stderr) == ("0\n", "")


def test_no_color_is_obeyed() -> None:
    plain = rockwright("check", "configs/front.yaml", NO_COLOR="1", FORCE_COLOR="1")
    assert plain.returncode == 0
    assert "\x1b[3" not in plain.stdout


def test_a_missing_file_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "nowhere.yaml"]) == 2
    assert capsys.readouterr().err.startswith("nowhere.yaml: No such file or directory")
