"""do.py: the refusal of an old Python, the stamp that spares a second set-up, and what it prints when that fails."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from pathlib import Path

import pytest

import do

SOURCE = Path(do.__file__).read_text(encoding="utf-8")


@pytest.fixture
def bare(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A project folder of its own with locks, without .venv; every attempt to install is an error."""
    for name in (*do.LEVELS, "uv"):
        path = tmp_path / "requirements" / f"{name}.txt"
        path.parent.mkdir(exist_ok=True)
        path.write_text(name, encoding="utf-8")
    (tmp_path / "pyproject.toml").write_text("", encoding="utf-8")
    monkeypatch.setattr(do, "ROOT", tmp_path)
    monkeypatch.setattr(do, "LOCKS", tmp_path / "requirements")
    monkeypatch.setattr(do, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(do, "PYTHON", tmp_path / ".venv" / "python")
    monkeypatch.setattr(do, "STAMP", tmp_path / ".venv" / "stamp.json")
    return tmp_path


def made(level: str, version: str = "") -> None:
    """Pretend that .venv was made for a level."""
    do.VENV.mkdir(exist_ok=True)
    do.PYTHON.touch()
    running = "{}.{}.{}".format(*sys.version_info[:3])
    (do.VENV / "pyvenv.cfg").write_text(f"home = x\nversion = {version or running}\n", encoding="utf-8")
    do.STAMP.write_text(json.dumps({"level": level, "digest": do.digest(level)}), encoding="utf-8")


def test_only_the_standard_library_is_imported() -> None:
    statements = [node for node in ast.parse(SOURCE).body if isinstance(node, ast.Import | ast.ImportFrom)]
    names = [alias.name for node in statements if isinstance(node, ast.Import) for alias in node.names]
    names += [node.module or "" for node in statements if isinstance(node, ast.ImportFrom)]
    assert set(names) <= sys.stdlib_module_names


def test_an_old_python_can_read_the_file_and_is_refused() -> None:
    tree = ast.parse(SOURCE, feature_version=(3, 6))
    guard = next(node for node in tree.body if isinstance(node, ast.If))
    before = tree.body[: tree.body.index(guard)]
    assert [ast.unparse(node) for node in before[1:]] == ["import sys"]
    for old, refused in (((3, 10, 9), True), ((3, 11, 0), False)):
        # Nothing but the guard is run, on a pretended version.
        code = f"import sys\nsys.version_info = {old}\n" + ast.unparse(guard)
        run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
        assert (run.returncode == 1) is refused
        assert ("saw Python 3.10; needs 3.11 or newer" in run.stderr) is refused


@pytest.mark.parametrize("level", do.LEVELS)
def test_a_stamp_serves_its_level_and_those_before(level: str, bare: Path) -> None:
    made(level)
    served = [one for one in do.LEVELS if do.is_ready(one, do.read_stamp())]
    assert served == list(do.LEVELS[: do.LEVELS.index(level) + 1])


def test_a_ready_environment_is_left_alone(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made("test")
    monkeypatch.setattr(do, "install", lambda level: pytest.fail(f"installed {level}"))
    monkeypatch.setattr(do, "make_venv", lambda: pytest.fail("made .venv"))
    do.prepare("test")
    do.prepare("run")


@pytest.mark.parametrize("changed", ["requirements/test.txt", "pyproject.toml"])
def test_a_change_calls_for_another_set_up(changed: str, bare: Path) -> None:
    made("test")
    (bare / changed).write_text("changed", encoding="utf-8")
    assert not do.is_ready("test", do.read_stamp())


@pytest.mark.parametrize(
    "text", ["", "{", "[]", "{}", '{"level": "other", "digest": ""}', '{"level": "test"}']
)
def test_a_broken_stamp_calls_for_another_set_up(text: str, bare: Path) -> None:
    made("test")
    do.STAMP.write_text(text, encoding="utf-8")
    assert not do.is_ready("run", do.read_stamp())


def test_a_lost_python_calls_for_another_set_up(bare: Path) -> None:
    made("test")
    do.PYTHON.unlink()
    assert not do.is_ready("test", do.read_stamp())
    assert do.venv_version() == ""


def test_an_environment_of_another_python_is_made_anew(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    steps: list[str] = []
    monkeypatch.setattr(do, "make_venv", lambda: steps.append("made"))
    monkeypatch.setattr(do, "install", steps.append)
    made("test", version="3.9.1")
    assert do.venv_version() == "3.9"
    do.STAMP.unlink()
    do.prepare("test")
    assert steps == ["made", "test"]
    made("run")
    do.prepare("bench")
    assert steps == ["made", "test", "bench"]
    assert do.is_ready("bench", do.read_stamp())


def test_a_failed_set_up_leaves_no_stamp(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    made("run")

    def fail(level: str) -> None:
        raise do.SetUpError(f"no index for {level}")

    monkeypatch.setattr(do, "install", fail)
    assert do.main(["test"]) == do.FAILED
    assert "do.py: no index for test" in capsys.readouterr().err
    assert do.read_stamp() == {}


def test_pip_serves_where_uv_does_not(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    tried: list[list[str]] = []

    def quietly(command: list[str]) -> str | None:
        tried.append(command[2:])
        return "no uv here" if "uv" in command or command[-1].endswith("uv.txt") else None

    monkeypatch.setattr(do, "quietly", quietly)
    do.install("run")
    assert [command[0] for command in tried] == ["pip", "pip", "pip"]
    assert "--require-hashes" in tried[1]
    assert tried[2][-4:] == ["--no-deps", "--no-build-isolation", "-e", str(bare)]


def test_what_cannot_be_installed_is_said_without_an_address(bare: Path) -> None:
    do.VENV.mkdir()
    text = "ERROR: see https://index.example.org/simple/numpy/ (host='index.example.org', port=443) or index.example.org"
    do.PYTHON.write_text(f"#!/bin/sh\ncat <<'END'\n{text}\nEND\nexit 1\n", encoding="utf-8")
    do.PYTHON.chmod(0o755)
    with pytest.raises(do.SetUpError) as caught:
        do.install("run")
    assert "could not install the packages of requirements/run.txt" in str(caught.value)
    assert "ERROR: see <address> (host='<address>', port=443) or <address>" in str(caught.value)


@pytest.mark.parametrize("arguments", [[], ["dance"], ["check", "this"], ["lock", "that"], ["demo", "this"]])
def test_a_wrong_command_line_is_refused(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    try:
        code: object = do.main(arguments)
    except SystemExit as ended:
        code = ended.code
    assert code == do.MISUSED
    printed = capsys.readouterr().err
    assert "saw " in printed
    assert all(argument in printed for argument in arguments)


def test_run_serves_the_invented_shop_in_its_own_place(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made("run")
    started: list[list[str]] = []
    monkeypatch.chdir(bare)
    monkeypatch.setattr(do.os, "name", "posix")
    monkeypatch.setattr(do.os, "execv", lambda program, words: started.append([program, *words[1:]]))
    # A program that took this one's place does not come back
    monkeypatch.setattr(do.subprocess, "Popen", lambda *words, **rest: pytest.fail("a second program"))
    with pytest.raises(pytest.fail.Exception, match="a second program"):
        do.main(["run", "--port", "8390"])
    assert started == [[str(do.PYTHON), "-u", "-m", "tundish.cli.main", "serve", "--demo", "--port", "8390"]]


def test_demo_plays_the_call_on_the_terminal(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made("run")
    started: list[tuple[str, ...]] = []
    monkeypatch.setattr(do, "python", lambda *words: started.append(words) or 0)
    assert do.main(["demo"]) == 0
    assert started == [("-m", "tundish.cli.demo")]


def test_where_no_program_takes_anothers_place_it_is_waited_for(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made("run")
    do.PYTHON.write_text("#!/bin/sh\nexit 3\n", encoding="utf-8")
    do.PYTHON.chmod(0o755)
    monkeypatch.chdir(bare)
    # The paths are made before: a path of another system cannot be made here
    monkeypatch.setattr(do.os, "name", "nt")
    assert do.instead("-c", "") == 3


def test_the_first_failure_is_the_exit_code(capsys: pytest.CaptureFixture[str]) -> None:
    assert do.first_failure(("ruff", 0), ("mypy", 0)) == 0
    assert do.first_failure(("ruff", 0), ("mypy", 3), ("tests", 1)) == 3
    assert "failed: mypy, tests" in capsys.readouterr().err


def test_every_verb_is_in_the_help() -> None:
    assert all(f"python3 do.py {verb}" in (do.__doc__ or "") for verb in do.VERBS)
