"""`rockwright completion`: the scripts, and what bash makes of its own."""

import argparse
import subprocess
import sys
from pathlib import Path

import pytest

from optimiser.cli.completion import FILES, SHELLS
from optimiser.cli.main import COMMANDS, main, parser_with

REGISTERS = {"bash": "-F _shtab_rockwright rockwright", "zsh": "#compdef rockwright", "tcsh": "complete rockwright"}
"""How a script says whose completion it is."""


@pytest.fixture
def script(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    assert main(["completion", "bash"]) == 0
    path = tmp_path / "rockwright.bash"
    path.write_text(capsys.readouterr().out, encoding="utf-8")
    return path


def completed(script: Path, *words: str) -> list[str]:
    """What bash offers at the Tab key behind the last of the words."""
    lines = (
        f"source {script}",
        f"COMP_WORDS=({' '.join(words)}) COMP_CWORD={len(words) - 1}",
        "$(complete -p rockwright | sed 's/.*-F //; s/ .*//')",
        'printf "%s\\n" "${COMPREPLY[@]}"',
    )
    ended = subprocess.run(["bash", "-c", "\n".join(lines)], capture_output=True, text=True, check=True)
    return [word.strip() for word in ended.stdout.splitlines() if word.strip()]


def test_bash_completes_commands(script: Path) -> None:
    assert completed(script, "rockwright", "ana") == ["analyse"]
    assert completed(script, "rockwright", '""') == list(COMMANDS)


def test_bash_completes_options(script: Path) -> None:
    assert completed(script, "rockwright", "search", "configs/front.yaml", "--un") == ["--until-flat"]


def test_bash_completes_files(script: Path) -> None:
    assert completed(script, "rockwright", "check", "configs/conf") == ["configs/conflict.yaml"]
    assert completed(script, "rockwright", "new", "-o", "configs/conf") == ["configs/conflict.yaml"]


def test_bash_completes_a_choice(script: Path) -> None:
    assert completed(script, "rockwright", "completion", "z") == ["zsh"]


@pytest.mark.parametrize("shell", SHELLS)
def test_each_shell_has_a_script_with_every_command(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["completion", shell]) == 0
    shown = capsys.readouterr().out
    assert [name for name in COMMANDS if name not in shown] == []
    assert REGISTERS[shell] in shown


def test_every_argument_that_is_a_path_is_completed_with_files() -> None:
    parser = parser_with(tuple(COMMANDS))
    commands = next(action for action in parser._actions if isinstance(action, argparse._SubParsersAction))
    paths = {action.metavar for child in commands.choices.values() for action in child._actions if action.type is Path}
    assert paths - set(FILES) == set()
    assert {"FILE", "OUT"} <= paths


def test_an_unknown_shell_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["completion", "sh"]) == 2
    assert "invalid choice: 'sh'" in capsys.readouterr().err


def test_the_library_is_imported_for_a_script_alone() -> None:
    code = "import sys; from optimiser.cli.main import main; main(['check', '-h']); sys.exit('shtab' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, check=False).returncode == 0
