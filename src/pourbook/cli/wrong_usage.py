"""A command line that cannot be read, in the program's own form: what is wrong, where, what to do."""

from difflib import get_close_matches
from typing import Any

import click

from pourbook.errors import Malformed

__all__ = ["as_refusal", "no_such_verb"]


_ALIKE = 0.7
"""Words that are less alike than this, as `difflib` has it, are no slip of the other."""


def no_such_verb(text: str, verbs: list[str]) -> Malformed:
    """The refusal of a verb that is none; it names the nearest.

    >>> no_such_verb("shw", ["show", "stock"]).remedy
    'did you mean show? pourbook --help lists all verbs'
    """
    return Malformed(f"'{text}' is not a verb", f"{_nearest(text, verbs)}pourbook --help lists all verbs")


def as_refusal(wrong: click.UsageError) -> Malformed:
    """The refusal that says what click found wrong with the words of a verb."""
    verb = wrong.ctx.command_path if wrong.ctx else "pourbook"
    see = f"{verb} --help shows how" if verb != "pourbook" else "pourbook VERB --help shows how"
    if isinstance(wrong, click.BadOptionUsage):
        return Malformed(f"{wrong.option_name} has no value", f"write the value after it; {see}")
    if isinstance(wrong, click.NoSuchOption):
        near = _nearest(wrong.option_name, wrong.possibilities or ())
        return Malformed(f"{verb} has no option '{wrong.option_name}'", near + see)
    parameter = wrong.param if isinstance(wrong, click.BadParameter) else None
    if parameter is None:
        said = wrong.format_message().rstrip(".")
        return Malformed(f"{verb}: {said[:1].lower()}{said[1:]}", see)
    if isinstance(wrong, click.MissingParameter):
        return Malformed(f"{verb} lacks {_name(parameter)}", f"give {_form(parameter)}; {see}")
    value, _, _ = wrong.message.partition(" is not ")
    stated = f"'{value.strip(chr(39))}'"
    return Malformed(f"{verb}: {_name(parameter)} cannot be {stated}", f"give {_possible(parameter.type)}; {see}")


def _nearest(text: str, among: "list[str] | tuple[str, ...]") -> str:
    words = {one.lstrip("-"): one for one in among}  # dashes make any two options alike
    near = get_close_matches(text.lstrip("-"), words, 1, _ALIKE)
    return f"did you mean {words[near[0]]}? " if near else ""


def _name(parameter: click.Parameter) -> str:
    """An option as it is typed, an argument as help calls it."""
    if isinstance(parameter, click.Option):
        return next(name for name in parameter.opts if name.startswith("--"))
    return parameter.human_readable_name


def _form(parameter: click.Parameter) -> str:
    """How to give it: `--customer TEXT: to whom`."""
    if not isinstance(parameter, click.Option):
        return _name(parameter)
    if parameter.metavar is None:
        return f"{_name(parameter)}: {_possible(parameter.type)}"
    about = (parameter.help or "").rstrip(".")
    return f"{_name(parameter)} {parameter.metavar}: {about[:1].lower()}{about[1:]}"


def _possible(kind: "click.ParamType[Any]") -> str:
    """The values that a kind of parameter takes."""
    if isinstance(kind, click.Choice):
        return f"one of {', '.join(kind.choices)}"
    if isinstance(kind, click.IntRange):
        return f"a whole number, {kind.min} {'or more' if kind.max is None else f'to {kind.max}'}"
    return "a whole number" if kind is click.INT else "what its help asks for"
