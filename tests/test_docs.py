"""What is written for users cannot drift from the command: help, examples, README.

Examples are read by the command's own parser; the commands of README.md are run.
"""

import re
import shlex
import subprocess
import sys
from contextlib import chdir
from pathlib import Path

import click
import pytest
from command import compiled_once, here

from pourbook.cli.main import VERBS, cli
from pourbook.codes.identifiers import is_issued, kind_of, read

ROOT = Path(__file__).resolve().parents[1]
README, DEVELOPERS = ROOT / "README.md", ROOT / "DEVELOPERS.md"
EVERY_VERB = [verb for verbs in VERBS.values() for verb in verbs]
READING = ("show", "stock", "trace")
RECORDING = ("--when", "--who", "--reason", "--dry-run")


def command_of(verb):
    """The command behind a verb."""
    found = cli.get_command(click.Context(cli), verb)
    assert found is not None, f"there is no verb {verb}"
    return found


def commands_of(verb):
    """The command behind a verb; where it is a group of several, each of them."""
    command = command_of(verb)
    return list(command.commands.values()) if isinstance(command, click.Group) else [command]


def options_of(verb):
    """Every option of a verb, as it is typed; of a group, what all of it takes."""
    return set.intersection(
        *(
            {name for parameter in command.params for name in parameter.opts if name.startswith("-")}
            for command in commands_of(verb)
        )
    )


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
    _parse(cli, words, None)


def _parse(command, words, above):
    if not isinstance(command, click.Group):
        command.make_context(command.name, words, parent=above)
        return
    context = click.Context(command, info_name=command.name, parent=above)
    _, (verb, *rest), _ = command.make_parser(context).parse_args(words)
    below = command.get_command(context, verb)
    if below is None:
        raise click.UsageError(f"no verb {verb}")
    _parse(below, rest, context)


@pytest.mark.parametrize("verb", EVERY_VERB)
def test_every_verb_has_help(verb):
    """A sentence on what it does, and a word on every option."""
    assert command_of(verb).name == verb
    for command in [command_of(verb), *commands_of(verb)]:
        assert (command.help or "").split("\n")[0].endswith((".", ":", "?")), command.name
        silent = [
            parameter.name
            for parameter in command.params
            if isinstance(parameter, click.Option) and not parameter.help and not parameter.hidden
        ]
        assert silent == []


@pytest.mark.parametrize("verb", EVERY_VERB)
def test_every_verb_has_examples_that_it_understands(verb):
    """At least one example; each names verbs, options and values that exist, and its own verb among them."""
    for command in [command_of(verb), *commands_of(verb)]:
        lines = examples_of(command)
        assert any(re.search(rf"\bpourbook (.* )?{command.name}\b", line) for line in lines), command.name
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
    recording = [verb for verb in EVERY_VERB if "--when" in options_of(verb)]
    assert {"cask", "gauge", "draw", "pour", "void", "bottle"} <= set(recording)
    assert {verb for verb in recording if not options_of(verb).issuperset(RECORDING)} == set()


# -- README.md and DEVELOPERS.md ------------------------------------------------------------------


def test_every_verb_is_written_about():
    """README.md or DEVELOPERS.md shows each verb as it is typed."""
    text = README.read_text("utf-8") + DEVELOPERS.read_text("utf-8")
    unsaid = {verb for verb in EVERY_VERB if not re.search(rf"\bpourbook (--book \S+ )?{verb}\b|`{verb}\b", text)}
    assert unsaid == set()


_SHOWN = re.compile(r"<!-- demo: .*?-->\n(.*?)<!-- end -->", re.DOTALL)
_SETTING_UP = re.compile(r"\bpip install\b|-m venv\b|-m pytest\b")
_STANDS_FOR_ANOTHER = re.compile(r"\s[A-Z]{4,}(\s|$)|--pin-stdin|^pourbook station( --lan|\s*#|$)")
"""Lines that are not typed as they stand, wait for somebody to type, or serve until they are stopped."""


def typed_in_the_shell(text):
    """What a person would type of the indented blocks, one command a line; the setting up left out."""
    bare = re.sub(r"^```.*?^```", "", _SHOWN.sub("", text), flags=re.MULTILINE | re.DOTALL)
    indented = [line[4:] for line in bare.splitlines() if line.startswith("    ")]
    parts = [part.strip() for line in indented for part in line.split("&&") if not _SETTING_UP.search(part)]
    return [re.sub(r"^\S*/pourbook\b", "pourbook", part) for part in parts]


def typed_in_python(text):
    """The fenced blocks of Python."""
    return re.findall(r"^```python\n(.*?)^```", text, re.MULTILINE | re.DOTALL)


def _same_but_numbers(line):
    return " ".join(re.sub(r"\b[0-9a-f]{64}\b|\d+", "#", line).split())


def test_every_line_of_the_readme_is_understood():
    """The command's own parser knows every verb, option and value; blocks hold commands and nothing else."""
    lines = typed_in_the_shell(README.read_text("utf-8"))
    assert lines[0] == "pourbook demo"
    for line in lines:
        parse(shlex.join(shlex.split(line, comments=True)))


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    """A folder in which every command of README.md was given, one after the other, and what they said.

    They run in this process, since starting one for each takes longer than what they do.
    """
    folder = tmp_path_factory.mktemp("readme")
    (folder / "sample_data").symlink_to(ROOT / "sample_data")
    lines = [line for line in typed_in_the_shell(README.read_text("utf-8")) if not _STANDS_FOR_ANOTHER.search(line)]
    environment = {"POURBOOK_BOOK": "quillmere/quillmere.pourbook", "POURBOOK_WHO": "Isla Farrow"}
    with chdir(folder):
        ran = [(line, here(*shlex.split(line, comments=True)[1:], **environment)) for line in lines]
    return folder, ran


def test_the_readme_runs(house):
    """Every command of README.md ends well, one after the other in one folder."""
    assert not [(line, ran.err) for line, ran in house[1] if ran.status]


def test_the_readme_shows_what_the_demo_says(house):
    """The lines shown are lines of the demo, but for numbers and hashes, in that order."""
    said = [_same_but_numbers(line) for _, ran in house[1] for line in ran.out.splitlines()]
    (shown,) = _SHOWN.findall(README.read_text("utf-8"))
    expected = [_same_but_numbers(line) for line in shown.splitlines() if line.strip()]
    start = said.index(expected[0])
    assert [line for line in said[start:] if line][: len(expected)] == expected


def test_the_readme_in_python_runs(house):
    """Every block of Python in README.md runs on the house of the demo."""
    folder, _ = house
    for block in typed_in_python(README.read_text("utf-8")):
        ran = subprocess.run(
            [sys.executable, "-W", "error", "-c", block],
            cwd=folder,
            env=compiled_once(),
            capture_output=True,
            text=True,
            check=False,
        )
        assert ran.returncode == 0, ran.stderr
        assert ran.stdout
