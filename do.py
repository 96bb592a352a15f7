"""Set up and run Tundish on a machine that has nothing but Python 3.11 or newer.

    python3 do.py run               an invented shop in the browser; prints its address; --port N, --anew
    python3 do.py demo              one invented call, from the complaint to the proof, on this terminal
    python3 do.py test              ruff, mypy and every test
    python3 do.py test ARGUMENTS    pytest alone, with these arguments
    python3 do.py check             ruff, mypy, layers, size budget, error messages, documents
    python3 do.py bench [NAMES]     the measurements of bench/ as tables; --markdown for a page
    python3 do.py lock              write requirements/ anew from pyproject.toml

The first call makes a virtual environment in .venv and installs what requirements/ names, checked by hash. Later calls
find it ready and start at once.
"""

import sys

# Everything above and below must be readable by an old Python, so that it gets this line and not a syntax error.
if sys.version_info < (3, 11):
    sys.exit(
        "do.py: saw Python %d.%d; needs 3.11 or newer; run it as: python3.11 do.py" % sys.version_info[:2]
    )

import hashlib
import json
import os
import re
import subprocess
import time
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
STAMP = VENV / "tundish-stamp.json"
LOCKS = ROOT / "requirements"
# Each level's lock holds all of the level before it, at the same versions.
LEVELS = ("run", "test", "bench")
LOCKING = ["pip", "compile", "--universal", "--python-version", "3.11", "--generate-hashes", "--upgrade"]
# No address of any index, and no folder of this machine, may end up in a lock.
LOCKING += ["--no-header", "--no-annotate", "--no-emit-index-url", "--no-emit-find-links"]
FAST_TESTS = ["tests/test_%s.py" % name for name in ("layers", "style", "errors", "docs", "locks")]
# What an installer prints may name the place it fetched from; that is nobody's business in a log.
ADDRESS = re.compile(r"\w+://[^\s'\"`)]+|(?<=host=')[^']+|\b(?:[\w-]+\.)+(?:org|com|net|io|dev)\b")
# How much of it is shown when it failed.
LINES, WIDTH = 15, 200
FAILED = 1
MISUSED = 2


class SetUpError(Exception):
    """The environment could not be made ready; the text says what to do."""


# Set-up.


def prepare(level: str) -> None:
    """Make .venv hold at least the packages of a level ("run", "test", "bench") and this project."""
    if is_ready(level, read_stamp()):
        return
    start = time.monotonic()
    say("Setting up .venv for `%s`. The first time this takes about half a minute." % level)
    if venv_version() != "%d.%d" % sys.version_info[:2]:
        make_venv()
    STAMP.unlink(missing_ok=True)
    install(level)
    STAMP.write_text(json.dumps({"level": level, "digest": digest(level)}), encoding="utf-8")
    say("Ready after %.0f s." % (time.monotonic() - start))


def is_ready(level: str, stamp: "dict[str, str]") -> bool:
    """Whether the environment described by a stamp serves a level and nothing it was made from has changed."""
    made = stamp.get("level")
    return (
        made in LEVELS
        and LEVELS.index(made) >= LEVELS.index(level)
        and stamp.get("digest") == digest(made)
        and PYTHON.exists()
    )


def read_stamp() -> "dict[str, str]":
    """The stamp of the last set-up; empty when there is none that can be read."""
    try:
        stamp = json.loads(STAMP.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return stamp if isinstance(stamp, dict) else {}


def digest(level: str) -> str:
    """What an environment depends on: lock, project file, Python, and the folder an editable install points to."""
    parts = [lock_file(level).read_bytes(), (ROOT / "pyproject.toml").read_bytes()]
    parts += [sys.version.encode(), str(ROOT).encode()]
    return hashlib.sha256(b"\0".join(parts)).hexdigest()


def lock_file(name: str) -> Path:
    """The hash-locked requirements of a level, or of `uv`."""
    return LOCKS / (name + ".txt")


def venv_version() -> str:
    """The Python that .venv was made with, such as "3.11"; empty when there is no working .venv."""
    config = VENV / "pyvenv.cfg"
    if not (config.exists() and PYTHON.exists()):
        return ""
    found = re.search(r"^version(?:_info)? *= *(\d+\.\d+)", config.read_text(encoding="utf-8"), re.MULTILINE)
    return found.group(1) if found else ""


def make_venv() -> None:
    """Make .venv anew with the Python that runs this file."""
    if VENV.exists():
        say("Found .venv made for another Python; making it anew.")
    try:
        # Links keep a Python that was built in a folder of its own able to find its libraries.
        venv.EnvBuilder(with_pip=True, clear=True, symlinks=os.name != "nt").create(VENV)
    except (ImportError, OSError, subprocess.CalledProcessError) as error:
        raise SetUpError(
            "could not make .venv (%s); needs Python's own venv and pip; on Debian: apt-get install python3-venv"
            % hidden(str(error))
        ) from error


def install(level: str) -> None:
    """Install a level's lock and the project: with uv, or with pip where uv cannot be had."""
    pip = [str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    locked = ["--require-hashes", "-r", str(lock_file(level))]
    # The build backend comes from the lock, so building the project fetches nothing.
    project = ["--no-deps", "--no-build-isolation", "-e", str(ROOT)]
    if quietly([*pip, "--require-hashes", "-r", str(lock_file("uv"))]) is None:
        uv = [str(PYTHON), "-m", "uv", "pip", "install", "--quiet", "--python", str(PYTHON)]
        if all(quietly([*uv, *what]) is None for what in (locked, project)):
            return
    say("The fast installer did not serve; trying pip, which takes longer.")
    for what in (locked, project):
        trouble = quietly([*pip, *what])
        if trouble is not None:
            raise SetUpError(
                "could not install the packages of requirements/%s.txt; needs a package index within reach; "
                "try again, and if it fails again read:\n%s" % (level, trouble)
            )


def quietly(command: "list[str]") -> "str | None":
    """Run a command without showing what it prints; None when it worked, else its last lines without addresses."""
    pipe, out = subprocess.PIPE, subprocess.STDOUT
    done = subprocess.run(
        command, cwd=ROOT, stdout=pipe, stderr=out, text=True, errors="replace", check=False
    )
    last = [line[:WIDTH] for line in done.stdout.splitlines()[-LINES:]]
    return None if done.returncode == 0 else hidden("\n".join(last))


def hidden(text: str) -> str:
    """A text with network addresses masked."""
    return ADDRESS.sub("<address>", text)


def say(text: str) -> None:
    """Tell the user at once; stderr, so that what a verb prints can be sent to a file."""
    print(text, file=sys.stderr, flush=True)


# Verbs. Each takes the rest of the command line and returns an exit code.


def run(arguments: "list[str]") -> int:
    """Serve the bench with an invented shop until stopped."""
    prepare("run")
    return instead("-m", "tundish.cli.main", "serve", "--demo", *arguments)


def demo(arguments: "list[str]") -> int:
    """Play one invented call on the terminal."""
    refuse_arguments("demo", arguments)
    prepare("run")
    return python("-m", "tundish.cli.demo")


def test(arguments: "list[str]") -> int:
    """All checks and tests; with arguments, pytest alone."""
    prepare("test")
    if arguments:
        return pytest(*arguments)
    return first_failure(("ruff", ruff()), ("mypy", mypy()), ("tests", pytest("-n", str(cores()), "-q")))


def check(arguments: "list[str]") -> int:
    """Ruff, mypy and the tests that read the source: layers, size budget, errors, documents, locks."""
    refuse_arguments("check", arguments)
    prepare("test")
    return first_failure(("ruff", ruff()), ("mypy", mypy()), ("tests", pytest("-q", *FAST_TESTS)))


def bench(arguments: "list[str]") -> int:
    """Measure."""
    prepare("bench")
    return python("-m", "bench.run", *arguments)


def lock(arguments: "list[str]") -> int:
    """Write the locks anew: the largest first, the others held to its versions."""
    refuse_arguments("lock", arguments)
    prepare("run")
    largest = lock_file(LEVELS[-1])
    for name in (*reversed(LEVELS), "uv"):
        project = [] if name == "uv" else ["pyproject.toml"]
        held = [] if name in ("uv", LEVELS[-1]) else ["-c", str(largest.relative_to(ROOT))]
        goal = str(lock_file(name).relative_to(ROOT))
        trouble = quietly([str(PYTHON), "-m", "uv", *LOCKING, *project, "--group", name, *held, "-o", goal])
        if trouble is not None:
            say(
                "lock: saw a failure at %s; needs uv and a package index within reach; read:\n%s"
                % (goal, trouble)
            )
            return FAILED
    return 0


VERBS = {"run": run, "demo": demo, "test": test, "check": check, "bench": bench, "lock": lock}


def ruff() -> int:
    """Lint all of the project."""
    return python("-m", "ruff", "check", "--quiet", ".")


def mypy() -> int:
    """Check types strictly."""
    return python("-m", "mypy", "--no-error-summary")


def pytest(*arguments: str) -> int:
    """Run tests. One thread a worker: two workers on two cores must not ask for four."""
    return python("-m", "pytest", *arguments, OMP_NUM_THREADS="1", OPENBLAS_NUM_THREADS="1", MPLBACKEND="Agg")


def python(*arguments: str, **variables: str) -> int:
    """Run .venv's Python in the project's folder, showing what it prints; the exit code."""
    environment = {**os.environ, **variables}
    return subprocess.run([str(PYTHON), *arguments], cwd=ROOT, env=environment, check=False).returncode


def instead(*arguments: str) -> int:
    """Let .venv's Python take this one's place, so that Ctrl-C and a kill reach the server itself; the exit code."""
    command = [str(PYTHON), "-u", *arguments]
    os.chdir(ROOT)
    if os.name != "nt":
        os.execv(command[0], command)
    # There a program cannot take another's place: this one waits for it, whatever is pressed
    with subprocess.Popen(command, cwd=ROOT) as program:
        while True:
            try:
                return program.wait()
            except KeyboardInterrupt:
                continue


def cores() -> int:
    """Cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def first_failure(*steps: "tuple[str, int]") -> int:
    """Name the steps that failed; the first failure's exit code, 0 when there is none."""
    failed = [(name, code) for name, code in steps if code != 0]
    if failed:
        say("do.py: failed: %s" % ", ".join(name for name, _ in failed))
    return failed[0][1] if failed else 0


def refuse_arguments(verb: str, arguments: "list[str]") -> None:
    """Exit when a verb that takes no argument got one."""
    if arguments:
        say("do.py %s: saw %r; takes no argument; leave it out" % (verb, " ".join(arguments)))
        sys.exit(MISUSED)


def main(arguments: "list[str]") -> int:
    """Run the verb named first."""
    if not arguments or arguments[0] not in VERBS:
        say(__doc__ or "")
        say("do.py: saw %r; needs one of: %s" % (" ".join(arguments[:1]), ", ".join(VERBS)))
        return MISUSED
    try:
        return VERBS[arguments[0]](arguments[1:])
    except SetUpError as error:
        say("do.py: %s" % error)
        return FAILED
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
