"""What is written for users cannot drift from the command: help, examples, README.

Examples are read by the command's own parser; the commands of README.md are run.
"""

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import click
import pytest
from command import here

from pourbook.cli.main import VERBS, cli
from pourbook.identifiers import is_issued, kind_of, read

ROOT = Path(__file__).resolve().parents[1]
README, DEVELOPERS = ROOT / "README.md", ROOT / "DEVELOPERS.md"
EVERY_VERB = [verb for verbs in VERBS.values() for verb in verbs]
READING = ("show", "stock", "trace")
RECORDING = ("--happened", "--who", "--reason", "--dry-run")


def command_of(verb):
    """The command behind a verb."""
    found = cli.get_command(click.Context(cli), verb)
    assert found is not None, f"there is no verb {verb}"
    return found


def options_of(verb):
    """Every option of a verb, as it is typed."""
    return {name for parameter in command_of(verb).params for name in parameter.opts if name.startswith("-")}


def examples_of(command):
    """The commands of an Example block, continuation lines joined."""
    _, _, block = (command.help or "").partition("Example:\n")
    joined = re.sub(r"\n\s+(?!\s*pourbook )", " ", "\n" + block)
    return [line.strip() for line in joined.splitlines() if line.strip()]


def parse(line):
    """A command line, read as the command would read it; nothing is done.

    Raises:
        click.UsageError: it has a verb, an option or a value that the command does not know.
    """
    program, *words = shlex.split(re.split(r"\s[|<>&]", line)[0])
    assert program == "pourbook"
    group = click.Context(cli, info_name="pourbook")
    _, rest, _ = cli.make_parser(group).parse_args(words)
    verb, *arguments = rest
    if cli.get_command(group, verb) is None:
        raise click.UsageError(f"no verb {verb}")
    command_of(verb).make_context(verb, arguments, parent=group)


@pytest.mark.parametrize("verb", EVERY_VERB)
def test_every_verb_has_help(verb):
    """A sentence on what it does, a line in the list of verbs, and a word on every option."""
    command = command_of(verb)
    assert command.name == verb
    assert (command.help or "").split("\n")[0].endswith((".", ":", "…"))
    silent = [
        parameter.name
        for parameter in command.params
        if isinstance(parameter, click.Option) and not parameter.help and not parameter.hidden
    ]
    assert silent == []


@pytest.mark.parametrize("verb", EVERY_VERB)
def test_every_verb_has_examples_that_it_understands(verb):
    """At least one example; each names verbs, options and values that exist, and its own verb among them."""
    lines = examples_of(command_of(verb))
    assert lines
    assert any(f" {verb}" in line for line in lines)
    for line in lines:
        parse(line)


def test_an_example_with_a_slip_is_noticed():
    """The reader of examples knows a wrong verb, option and value."""
    for line in ("pourbook frobnicate", "pourbook stock --colour red", "pourbook stock --kind bucket", "pourbook show"):
        with pytest.raises(click.UsageError):
            parse(line)


def test_examples_name_identifiers_that_can_be():
    """Check characters agree, and the numbers are such as are given out."""
    for verb in EVERY_VERB:
        for text in re.findall(r"\b[A-Z]-\d{6}-\w", command_of(verb).help or ""):
            identifier = read(text)
            assert is_issued(kind_of(identifier), int(identifier[1:-1])), (verb, text)


def test_help_lists_every_verb():
    """`pourbook --help` shows each verb under its group."""
    shown = here("--help").done().out
    for group, verbs in VERBS.items():
        section = shown.partition(f"\n{group}:\n")[2].partition("\n\n")[0]
        assert [line.split()[0] for line in section.splitlines() if re.match(r"  \w", line)] == list(verbs)


def test_every_verb_answers_programs():
    """Each verb but the guided tour takes --json; what can be asked of the past takes a moment."""
    assert {verb for verb in EVERY_VERB if "--json" not in options_of(verb)} == {"demo"}
    assert {verb for verb in READING if "--at" not in options_of(verb)} == set()


def test_recording_verbs_share_their_options():
    """A verb that takes a time it happened takes who, why and a rehearsal, too."""
    recording = [verb for verb in EVERY_VERB if "--happened" in options_of(verb)]
    assert {"cask", "gauge", "draw", "pour", "void", "bottle"} <= set(recording)
    assert {verb for verb in recording if not options_of(verb).issuperset(RECORDING)} == set()


# -- README.md and DEVELOPERS.md ------------------------------------------------------------------


def test_every_verb_is_written_about():
    """README.md or DEVELOPERS.md shows each verb as it is typed."""
    text = README.read_text("utf-8") + DEVELOPERS.read_text("utf-8")
    unsaid = {verb for verb in EVERY_VERB if not re.search(rf"\bpourbook (--book \S+ )?{verb}\b|`{verb}\b", text)}
    assert unsaid == set()


def blocks(text):
    """Blocks of code, indented or fenced, in their order: language and lines."""
    fenced = re.compile(r"^```(\w*)\n(.*?)^```", re.MULTILINE | re.DOTALL)
    indented = re.compile(r"(?:^(?: {4}.*)?\n)*^ {4}.*\n", re.MULTILINE)
    found = [(match.start(), match[1], match[2].splitlines()) for match in fenced.finditer(text)]
    bare = fenced.sub(lambda match: "\n" * match[0].count("\n"), text)
    found += [
        (len(text) + match.start(), "", [line[4:] for line in match[0].splitlines() if line.strip()])
        for match in indented.finditer(bare)
    ]
    return [(language, lines) for _, language, lines in found]


_SETTING_UP = re.compile(r"pip3? install|-m venv|-m pytest|\bapt\b|\bgit clone\b|\bcd\b")


def commands(lines):
    """What a person would type of a block: continuation lines joined, the setting up left out."""
    text = re.sub(r"\\\n\s*", "", "\n".join(line.removeprefix("$ ") for line in lines))
    for line in text.splitlines():
        parts = [part.strip() for part in line.split("&&") if not _SETTING_UP.search(part)]
        parts = [re.sub(r"^\S*\bpourbook\b(?=\s|$)", "pourbook", part) for part in parts]
        if parts and parts[0].startswith(("pourbook ", "export ", "printf ", "echo ", "cat ")):
            yield " && ".join(parts)


def _typed():
    return [line for language, lines in blocks(README.read_text("utf-8")) if language in ("", "sh", "bash", "console")
            for line in commands(lines)]  # fmt: skip


def test_the_readme_shows_the_command():
    """There is something to run."""
    assert any(line.startswith("pourbook demo") for line in _typed())


@pytest.mark.skipif(shutil.which("bash") is None, reason="the README's lines are for a shell")
def test_the_readme_runs(tmp_path):
    """Every command of README.md, one after the other in one shell, ends well."""
    door = tmp_path / "bin" / "pourbook"
    door.parent.mkdir()
    door.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m pourbook "$@"\n', "utf-8")
    door.chmod(0o755)
    script = "\n".join(["set -eu", *_typed()])
    environment = {name: value for name, value in os.environ.items() if not name.startswith("POURBOOK_")}
    ran = subprocess.run(
        ["bash", "-c", script],
        cwd=tmp_path,
        env=environment | {"PATH": f"{door.parent}:{os.environ['PATH']}", "POURBOOK_WHO": "M. Aldane"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, f"{script}\n{ran.stdout}\n{ran.stderr}"


def test_the_readme_in_python_runs(tmp_path, monkeypatch):
    """Every block of Python in README.md runs, in order, in one room."""
    monkeypatch.chdir(tmp_path)
    names = {}
    for language, lines in blocks(README.read_text("utf-8")):
        if language in ("python", "py"):
            exec(compile("\n".join(lines), str(README), "exec"), names)
