"""The house's settings, kept as entries like everything else.

Those of its printers are named `printer.NAME.FIELD`. A queue or an address comes only from here, so that nothing
typed, scanned or read from a file can send labels to another machine. What the headings of the house's own tables
mean is named `table.TABLE.HEADING`, how much of a blend a role may be `role.ROLE`, and a rule of the house on labels
`label.RULES.STATEMENT.FIELD` (`pourbook.labels.label_rules`). Where a balance is stands in
`balance`, or `balance.NAME`.

>>> checked({"house": "Quillmere", "zone": "Europe/London"})["zone"]
'Europe/London'
>>> checked({"decimal_mark": ";"})
Traceback (most recent call last):
    ...
pourbook.errors.Malformed: setting decimal_mark cannot be ';'
>>> checked({"printer.bench.queue": "-o raw"})
Traceback (most recent call last):
    ...
pourbook.errors.Malformed: setting printer.bench.queue cannot be '-o raw'
>>> printer_settings(checked({"printer.bench.dpi": "203.2", "zone": "UTC"}))
{'bench': {'dpi': '203.2', 'offset_x_mm': '0', 'offset_y_mm': '0', 'margins_mm': '0', 'queue': '', \
'address': '', 'text': 'picture'}}
"""

import re
from collections.abc import Mapping
from typing import NamedTuple

from pourbook.alcoholometry.standard_drinks import DRINKS
from pourbook.book.store import Store
from pourbook.codes.number_ranges import read_ranges, shown_ranges, site_code
from pourbook.errors import Malformed
from pourbook.lineage.age_rules import AGE_RULES
from pourbook.numerals import read_decimal
from pourbook.times import house_zone, shown

__all__ = [
    "BOUNDS", "CONTENTS_RULES", "DEFAULTS", "PRINTER_FIELDS", "ROLE", "SCALES", "SETTINGS", "TWO_PEOPLE", "Setting",
    "checked", "house_time", "printer_settings", "scale", "settings", "with_points",
]  # fmt: skip


class Setting(NamedTuple):
    """One choice: its default, the choices (empty for free text), and its meaning in one line of help."""

    default: str
    choices: tuple[str, ...]
    meaning: str


CONTENTS_RULES = ("", "eu-76-211", "uk-2006-659", "us-27-cfr-19")
"""Names of `gauging.average_contents`, which few verbs need."""

SETTINGS = {
    "house": Setting("", (), "name of the house, printed on labels and papers"),
    "address": Setting("", (), "postal address of the house, printed on papers that leave it"),
    "licence": Setting("", (), "licence or registration of the house, printed on papers that leave it"),
    "contact": Setting("", (), "whom to call in a recall: name and telephone, printed on its report"),
    "site": Setting("", (), "short name of this site, where a house works at several; blank: it has one"),
    "numbers": Setting("", (), "ranges its identifiers come from; a site has its own: 1-99999, 200000-299999"),
    "zone": Setting("UTC", (), "time zone of times typed without an offset, an IANA name"),
    "decimal_mark": Setting(".", (".", ","), "mark between whole and part of a number"),
    "volume_unit": Setting("ml", ("ml", "cl", "l", "hl", "gal", "imp gal"), "unit of a bare amount at the bench"),
    "strength_scale": Setting("vol20", ("vol20", "vol60f", "proof60f"), "scale of a bare strength"),
    "proof": Setting("us", ("us", "ask"), "what 'proof' alone means"),
    "temperature_unit": Setting("C", ("C", "F"), "unit of a bare temperature"),
    "air_kg_m3": Setting("1.2", (), "density of the air where gross weights are read, kg/m³"),
    "weights_kg_m3": Setting("8000", (), "density of the weights that balances are set with, kg/m³"),
    "sample_l": Setting("2", (), "litres that a vial or a trial's glass holds at most, if no capacity is on record"),
    "cask_loss": Setting("10", (), "most that a cask loses in a year, % of its volume; more is queried"),
    "most_of_one": Setting("100", (), "most that one component may be of a blend beside water, %; more is queried"),
    "least_components": Setting("1", tuple("123456789"), "least number of components of a blend; fewer are queried"),
    "paper": Setting("A4", ("A4", "Letter"), "page size of printed papers"),
    "company_prefix": Setting("", (), "GS1 company prefix: from it GTINs and SSCCs are made"),
    "resolver": Setting("https://id.gs1.org", (), "where GS1 Digital Links of the house point"),
    "station_address": Setting("", (), "where the station is reached; papers and labels then hold an item's address"),
    "uri": Setting("", (), "web address under which casks, batches … are named in documents for other houses"),
    "age_rule": Setting("", ("", *AGE_RULES), "which wood counts toward an age; blank: no rule, time in wood alone"),
    "contents_rule": Setting("", CONTENTS_RULES, "how the contents of bottles are judged; blank: by no rule"),
    "bottling_difference": Setting(
        "0.5", (), "most that a bottling run leaves unexplained, % of the LPA that left the vat; more is queried"
    ),
    "water_lot": Setting("no", ("no", "yes"), "whether water poured into a batch must say which it is: kind, lot"),
    "currency": Setting("", (), "sign or code printed with costs"),
    "intensity_scale": Setting("0..5", (), "scale of a word's intensity in a tasting note, least..most"),
    "liking_scale": Setting("1..9", (), "scale of liking in a tasting note, least..most"),
    "score_scale": Setting("0..100", (), "scale of the score in a tasting note, least..most"),
    "most_glasses": Setting("8", (), "glasses for an assessor in a tasting session; more are queried"),
    "alcohol_limit_g": Setting("20", (), "most pure alcohol offered to a person in a session without a spittoon, g"),
    "alcohol_spat_limit_g": Setting("60", (), "the same with a spittoon, g"),
    "standard_drink": Setting("uk", tuple(DRINKS), "whose standard drinks pure alcohol is told in"),
    "walk": Setting("one way", ("one way", "serpentine"), "how a walk passes places; serpentine: back by the next row"),
    "hold_off_notes": Setting("no", ("no", "yes"), "whether a fault found in a tasting puts the item on hold"),
    "approval": Setting("no", ("no", "asked", "needed"), "whether a batch or lot is approved before it is despatched"),
    "approvers": Setting("", (), "who may approve a batch or lot, parted by semicolons; blank: anybody"),
    "pourer_approves": Setting("asked", ("asked", "no"), "whether whoever poured a batch may approve it"),
    "two_people": Setting(
        "", (), "what needs a second person, parted by semicolons: approval; destruction; void (of a despatch)"
    ),
    "lock_minutes": Setting("10", (), "minutes without use after which the station asks for the PIN again"),
    "balance": Setting(
        "", (), "where the balance is: tcp://host:port or serial:/dev/ttyUSB0?baud=9600; more: balance.NAME"
    ),
    "balance_pattern": Setting("", (), "how balances write a line: groups value, unit, stable; blank: S S 123.45 g"),
    "label_rules": Setting("eu", (), "rules that statements of a label are held to: eu, us, uk, or a set of the house"),
}
"""Every setting, in the order it is shown."""

TWO_PEOPLE = frozenset(("", "approval", "destruction", "void"))
"""What may need a second person; a void only where something was despatched."""

BOUNDS = {
    "air_kg_m3": (0.8, 1.4, "kg/m³"),  # from high mountains to hard frost
    "weights_kg_m3": (2500.0, 22000.0, "kg/m³"),  # from aluminium to platinum
    "cask_loss": (0.5, 30.0, "%"),  # from a closed drum to a desert
    "sample_l": (0.05, 50.0, "litres"),
    "most_glasses": (2.0, 26.0, "glasses"),
    "alcohol_limit_g": (1.0, 100.0, "grams"),
    "alcohol_spat_limit_g": (1.0, 300.0, "grams"),
    "most_of_one": (1.0, 100.0, "%"),
    "bottling_difference": (0.01, 20.0, "%"),
    "lock_minutes": (1.0, 240.0, "minutes"),
}
"""Settings that are numbers, kept with a point: the least, the most, and the unit."""

SCALES = ("intensity_scale", "liking_scale", "score_scale")
"""Settings that are a scale: two whole numbers, the least and the most."""

ROLE = "role."
"""Begins the setting of how much of a blend, in per cent, all components of a role may be: `role.rich` is `0..15`."""

DEFAULTS = {name: setting.default for name, setting in SETTINGS.items()}
"""The settings of a new book."""


def checked(settings: Mapping[str, str]) -> dict[str, str]:
    """The settings, if each is known and has a possible value; else `Malformed`."""
    for name, value in settings.items():
        if name.startswith("printer."):
            _check_printer(name, value)
            continue
        if name.startswith(ROLE):
            _check_role(name, value)
            continue
        if name == "balance" or name.startswith("balance."):
            _check_balance(name, value)
            continue
        if name.startswith("table."):
            _check_heading(name, value)
            continue
        if name.startswith("label."):
            from pourbook.labels.label_rules import check_setting  # only where a house has rules of its own

            check_setting(name, value)
            continue
        setting = SETTINGS.get(name)
        if setting is None:
            raise Malformed(f"unknown setting '{name}'", f"choose from: {', '.join(SETTINGS)}")
        if setting.choices and value not in setting.choices:
            raise Malformed(f"setting {name} cannot be '{value}'", f"choose from: {'  '.join(setting.choices)}")
        if name == "balance_pattern" and value:
            from pourbook.gauging.balance_lines import checked_pattern  # likewise

            checked_pattern(value)
        if name == "two_people" and not {one.strip() for one in value.split(";")} <= TWO_PEOPLE:
            raise Malformed(f"setting two_people cannot be '{value}'", "name some of: approval; destruction; void")
        _check_outside(name, value)
        _check_number(name, value)
        _check_scale(name, value)
        if name == "zone":
            house_zone(value)
        if name == "numbers":
            read_ranges(value)
        if name == "site" and value and site_code(value) != value:
            raise Malformed(f"setting site cannot be '{value}'", f"write it in capitals: {site_code(value)}")
        if name == "house" and not value.strip():
            raise Malformed("the house has no name", "give one with --house NAME")
    return dict(settings)


def with_points(settings: Mapping[str, str], mark: str) -> dict[str, str]:
    """Settings as a person types them, as the book keeps them: numbers with a point, the site in capitals.

    >>> with_points({"sample_l": "2,5", "house": "Quillmere, 2.5 miles out"}, ",")
    {'sample_l': '2.5', 'house': 'Quillmere, 2.5 miles out'}
    """

    def kept(name: str, value: str) -> str:
        if name.startswith(ROLE) and value:
            from pourbook.bench.bounds import read_range  # only where one is set

            return "..".join(f"{end:f}" for end in read_range(value, mark))
        if name == "site" and value:
            return site_code(value)
        if name == "numbers":
            return shown_ranges(read_ranges(value))
        return f"{read_decimal(value, mark):f}" if name in BOUNDS else value

    return {name: kept(name, value) for name, value in settings.items()}


def _check_role(name: str, value: str) -> None:
    """Between which per cent of a blend all of a role may be; an empty value forgets it."""
    from pourbook.bench.bounds import read_range

    if not name.removeprefix(ROLE).strip():
        raise Malformed(f"'{name}' names no role", "write it like role.rich")
    if value and read_range(value)[1] > 100:
        raise Malformed(f"setting {name} cannot be '{value}'", "give per cent of a blend: 0..15")


def _check_heading(name: str, value: str) -> None:
    """What a heading of a house's own table means; an empty value forgets it."""
    if not re.fullmatch(r"table\.(casks|gauges|items|notes|pours|tastings|words)\.[^\sA-Z]{1,80}", name):
        raise Malformed(f"'{name}' names no heading", "write it like table.casks.fass_nr, in small letters")
    if len(value) > 120 or not value.isprintable():
        raise Malformed(f"setting {name} cannot be '{value}'", "write the column, its unit and readings: quantity l")


def _check_balance(name: str, value: str) -> None:
    """Where a balance is; an empty value forgets it."""
    if not re.fullmatch(r"balance(\.[a-z0-9][a-z0-9-]{0,39})?", name):
        raise Malformed(f"'{name}' cannot name a balance", "use small letters, digits and hyphens: balance.bench-2")
    if value:
        from pourbook.gauging.balance_lines import checked_address  # only where one is set

        checked_address(value)


def _check_number(name: str, value: str) -> None:
    if name in BOUNDS:
        least, most, unit = BOUNDS[name]
        if not least <= float(read_decimal(value)) <= most:
            raise Malformed(f"setting {name} cannot be '{value}'", f"give {unit}, from {least:g} to {most:g}")


def _check_scale(name: str, value: str) -> None:
    ends = re.fullmatch(r"(\d{1,4})\.\.(\d{1,4})", value, re.ASCII)
    if name in SCALES and not (ends and int(ends[1]) < int(ends[2])):
        raise Malformed(f"setting {name} cannot be '{value}'", f"write it like {SETTINGS[name].default}")


def scale(settings: Mapping[str, str], name: str) -> tuple[int, int]:
    """The least and the most of a scale of the house.

    >>> scale(DEFAULTS, "liking_scale")
    (1, 9)
    """
    least, _, most = settings[name].partition("..")
    return int(least), int(most)


def _check_outside(name: str, value: str) -> None:
    """What the house is known by outside; an empty company prefix ends it."""
    if name == "company_prefix" and value:
        from pourbook.codes.gs1 import checked_prefix  # only where it is set

        checked_prefix(value)
    if name == "resolver" or (name in ("uri", "station_address") and value):
        from pourbook.codes.digital_link import checked_resolver

        checked_resolver(value)


def settings(store: Store) -> dict[str, str]:
    """The house's settings, defaults included."""
    return DEFAULTS | dict(store.query("SELECT name, value FROM setting"))


def house_time(store: Store, moment_us: int) -> str:
    """A moment as the house reads it on a clock, with the zone's abbreviation."""
    return shown(moment_us, house_zone(settings(store)["zone"]))


_NUMBER = r"-?\d{1,4}(\.\d{1,3})?"


_LENGTH = r"\d{1,3}(\.\d{1,3})?"


_HOST = r"[\w-][\w.-]{0,252}|\[[0-9A-Fa-f:.]{2,45}\]"


_PORT = r"[1-9]\d{0,3}|[1-5]\d{4}|6[0-4]\d{3}|65[0-4]\d{2}|655[0-2]\d|6553[0-5]"


PRINTER_FIELDS = {
    "dpi": ("300", r"\d{3,4}(\.\d{1,3})?", "dots to the inch, as 203 or 203.2"),
    "offset_x_mm": ("0", _NUMBER, "millimetres to the right, as 0.6"),
    "offset_y_mm": ("0", _NUMBER, "millimetres down, as -0.4"),
    "margins_mm": ("0", rf"{_LENGTH}(,{_LENGTH},{_LENGTH},{_LENGTH})?", "one number, or left,top,right,foot"),
    "queue": ("", r"[A-Za-z0-9_][\w.@+-]{0,126}(/[\w.@+-]{1,80})?", "the name of a print queue of the system"),
    "address": ("", rf"({_HOST})(:({_PORT}))?", "a host, or host:port"),
    "text": ("picture", r"picture|printer", "picture, or printer for the typeface of the printer itself"),
}
"""Every field of a printer: its default, its form, and that form in words. An empty value restores the default."""


_NAME = r"printer\.([a-z0-9][a-z0-9-]{0,39})\.(\w+)"


def _check_printer(name: str, value: str) -> None:
    """Refuse (`Malformed`) an unknown field, or a name or value of another form."""
    match = re.fullmatch(_NAME, name)
    if match is None:
        raise Malformed(f"'{name}' cannot name a setting of a printer", "use small letters, digits and hyphens")
    field = PRINTER_FIELDS.get(match[2])
    if field is None:
        raise Malformed(f"a printer has no setting '{match[2]}'", f"choose from: {', '.join(PRINTER_FIELDS)}")
    _, form, words = field
    if value and not re.fullmatch(form, value, re.ASCII):
        raise Malformed(f"setting {name} cannot be '{value}'", f"give {words}")


def printer_settings(settings: Mapping[str, str]) -> dict[str, dict[str, str]]:
    """The printers of the house by name, each with all its fields."""
    found: dict[str, dict[str, str]] = {}
    for name, value in sorted(settings.items()):
        if value and (match := re.fullmatch(_NAME, name)):
            found.setdefault(match[1], {field: default for field, (default, *_) in PRINTER_FIELDS.items()})
            found[match[1]][match[2]] = value
    return found
