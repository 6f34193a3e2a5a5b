"""What the calculators of spirit answer: density, strength, conversion, hydrometer, obscuration, reduction, vatting."""

from typing import TYPE_CHECKING, Any

from pourbook.documents.shown import CAUTION, Shown, aligned, table
from pourbook.words.figure_words import NO_APPARENT

if TYPE_CHECKING:
    from collections.abc import Callable

    from pourbook.alcoholometry.conversion import Converted, Mixture
    from pourbook.alcoholometry.hydrometer_reading import HydrometerReading
    from pourbook.alcoholometry.obscuration import Obscuration
    from pourbook.alcoholometry.official_figures import OfficialFigure, OfficialFigures
    from pourbook.batches.vat_plans import GaugeAhead, Reduction, Vatting
    from pourbook.house_style import HouseStyle

    _Pairs = list[tuple[str, str]]
    _Write = Callable[[float, int], str]

__all__ = [
    "converted_shown", "hydrometer_shown", "mixture_shown", "obscuration_shown", "reduction_shown", "vatting_shown",
]  # fmt: skip

_COMPUTED = "computed; a return uses the official tables"


def mixture_shown(found: "Mixture", style: "HouseStyle") -> Shown:
    """Density and strength."""
    shown = style.shown
    lines = (
        ("density", f"{shown(found.density_kg_m3, 3)} kg/m³ at {shown(found.temperature_c, 2)} °C, in vacuum"),
        ("density in air", f"{shown(found.density_in_air_kg_m3, 3)} kg/m³ (air of 1.2, weights of 8,000 kg/m³)"),
        ("strength", f"{shown(found.strength_20c, 3)} % vol at 20 °C"),
        ("US proof", f"{shown(found.proof_60f, 2)} at 60 °F"),
        ("ethanol by mass", f"{shown(found.mass_fraction * 100, 3)} %"),
    )
    return Shown(found._asdict(), aligned(lines), (CAUTION,))


# -- what US figures rest on -----------------------------------------------------------


def _with_us_figures(
    document: dict[str, Any], lines: "_Pairs", official: "OfficialFigures | None", style: "HouseStyle",
    *more: str,
) -> Shown:  # fmt: skip
    """An answer with what its US figures rest on; lines behind the aligned ones in `more`."""
    basis = _basis(official)
    document["us_basis"] = basis
    if official is not None:
        document["official"] = {
            name: figure._asdict() | {"difference": figure.difference} for name, figure in official.figures.items()
        }
        lines = [
            *lines,
            *(
                (f"  {name.removesuffix('_60f').replace('_', ' ')}", _beside(figure, style))
                for name, figure in official.figures.items()
            ),
        ]
    return Shown(document, (*aligned(lines), *more), (f"US figures {basis}", CAUTION))


def _basis(official: "OfficialFigures | None") -> str:
    if official is None:
        return _COMPUTED
    if len(official.known) == len(official.figures):
        return f"official tables as loaded from {official.file}"
    if official.known:
        return f"official tables as loaded from {official.file} where they have the value; else {_COMPUTED}"
    return f"{official.file} lacks the values needed here; {_COMPUTED}"


def _beside(figure: "OfficialFigure", style: "HouseStyle") -> str:
    formula = style.shown(figure.formula, 2)
    if figure.official is None or figure.difference is None:
        return f"formula {formula}; the file lacks the official value"
    more = ("" if figure.difference < 0 else "+") + style.shown(figure.difference, 2)
    return f"official {style.shown(figure.official, 2)}, formula {formula}, difference {more}"


# -- conversion, hydrometer, obscuration -----------------------------------------------


def converted_shown(found: "Converted", style: "HouseStyle") -> Shown:
    """A body of spirit in every unit."""
    shown, figures, body, rounded = style.shown, found.figures, found.body, found.rounded
    celsius = body.read.temperature_c
    weighed = None if body.in_air is None else "in air" if body.in_air else "in vacuum"
    document: dict[str, Any] = {
        **figures._asdict(), "temperature_c": celsius, "weighed": weighed, "volume_factor_60f": found.volume_factor_60f,
    }  # fmt: skip
    lines = [("mass", f"{shown(figures.mass_kg, 3)} kg in vacuum{f' (typed as read {weighed})' if weighed else ''}")]
    if celsius != 20.0:
        lines.append(("volume", f"{shown(figures.volume_l, 3)} l at {shown(celsius, 2)} °C"))
    wine, proof = figures.wine_gallons_60f, figures.proof_60f
    lines += [
        ("volume at 20 °C", f"{shown(figures.volume_l_20c, 3)} l"),
        ("strength", f"{shown(figures.strength_20c, 3)} % vol at 20 °C"),
        ("pure alcohol", f"{shown(figures.lpa, 3)} l at 20 °C (LPA)"),
        ("US proof", f"{shown(proof, 2)} at 60 °F, rounded {shown(rounded['proof_60f'], 1)}"),
        ("wine gallons", f"{shown(wine, 3)} at 60 °F, rounded {shown(rounded['wine_gallons_60f'], 1)}"),
        ("proof gallons", f"{shown(figures.proof_gallons, 3)}, rounded {shown(rounded['proof_gallons'], 1)}"),
        ("factor to 60 °F", shown(found.volume_factor_60f, 5)),
    ]
    if body.read.extract_g_per_l:
        document |= {
            "extract_g_per_l": body.read.extract_g_per_l,
            "apparent_strength_20c": found.apparent_20c,
            "apparent_proof_60f": found.apparent_proof_60f,
        }
        seen = _both(found.apparent_20c, found.apparent_proof_60f, shown)
        lines.append(("apparent", seen if found.apparent_20c is None else f"{seen}: what a hydrometer shows"))
    return _with_us_figures(document | {"us_rounded": rounded}, lines, found.official, style)


def hydrometer_shown(found: "HydrometerReading", style: "HouseStyle") -> Shown:
    """True strength from a hydrometer's reading."""
    from pourbook.alcoholometry.apparent import REFERENCE_C

    shown, figures, reading, proof = style.shown, found.figures, found.reading, found.figures.proof_60f
    document: dict[str, Any] = {
        "proof_60f": proof,
        "strength_20c": figures.strength_20c,
        "density_kg_m3": figures.density_kg_m3,
        "temperature_c": found.temperature_c,
        "reading": float(reading.value),
        "scale": reading.scale,
        "reference_c": REFERENCE_C[reading.scale],
    }
    lines = [
        ("true strength", f"{shown(figures.strength_20c, 3)} % vol at 20 °C"),
        ("true US proof", f"{shown(proof, 2)} at 60 °F, to the nearest tenth {shown(proof, 1)}"),
        ("density", f"{shown(figures.density_kg_m3, 3)} kg/m³ at {shown(found.temperature_c, 2)} °C, in vacuum"),
    ]
    if found.extract_g_per_l:
        apparent = {
            "apparent_proof_60f": figures.apparent_proof_60f, "apparent_strength_20c": figures.apparent_strength_20c,
        }  # fmt: skip
        document |= {"extract_g_per_l": found.extract_g_per_l} | apparent
        lines.append(("apparent", _both(figures.apparent_strength_20c, figures.apparent_proof_60f, shown)))
    return _with_us_figures(document, lines, found.official, style)


def _both(strength: float | None, proof: float | None, shown: "_Write") -> str:
    """A strength on both scales; either is None where no plain spirit is as heavy."""
    if strength is None or proof is None:
        return NO_APPARENT
    return f"{shown(strength, 3)} % vol at 20 °C, {shown(proof, 2)} proof at 60 °F"


def obscuration_shown(found: "Obscuration", style: "HouseStyle") -> Shown:
    """What solids hide: by density, and by the US rule."""
    shown, rule, solids = style.shown, found.us_rule, found.solids_g_per_l
    seen = found.apparent_proof_60f
    by_rule = None if rule.add_proof is None or seen is None else seen + float(rule.add_proof)
    document = {
        "solids_g_per_l": solids,
        "solids_mg_per_100ml": solids * 100.0,
        "strength_20c": found.true_20c,
        "apparent_strength_20c": found.apparent_20c,
        "obscuration_20c": found.hidden_20c,
        "proof_60f": found.true_proof_60f,
        "apparent_proof_60f": found.apparent_proof_60f,
        "obscuration_proof": found.hidden_proof,
        "us_rule": {
            "add_proof": None if rule.add_proof is None else float(rule.add_proof),
            "true_proof_60f": by_rule, "says": rule.says,
        },
    }  # fmt: skip
    added = "no figure, see below"
    if rule.add_proof is not None and by_rule is not None:
        added = f"{shown(rule.add_proof, 1)} degree added, true proof {shown(by_rule, 1)}"
    lines = [
        ("solids", f"{shown(solids, 2)} g/l = {shown(solids * 100, 0)} mg/100 ml"),
        ("true", _both(found.true_20c, found.true_proof_60f, shown)),
        ("apparent", _both(found.apparent_20c, found.apparent_proof_60f, shown)),
        ("obscuration", _hidden(found, shown)),
        ("by the US rule", added),
    ]
    return _with_us_figures(document, lines, None, style, f"27 CFR: {rule.says}")


def _hidden(found: "Obscuration", shown: "_Write") -> str:
    if found.hidden_20c is None or found.hidden_proof is None:
        return "no hydrometer shows it"
    return f"{shown(found.hidden_20c, 3)} % vol, {shown(found.hidden_proof, 2)} proof, by density"


# -- reduction and vatting -------------------------------------------------------------


def _gauge(gauge: "GaugeAhead") -> dict[str, float | None]:
    return {
        name: value
        for name, value in gauge._asdict().items()
        if value is not None or name in ("strength_20c", "proof_60f") or (gauge.extract_g_per_l and "apparent" in name)
    }


def reduction_shown(plan: "Reduction", style: "HouseStyle", rest_days: int = 0) -> Shown:
    """A reduction or strengthening as planned, with so many days of rest between steps."""
    from pourbook.batches.vat_plans import gauge_ahead  # only here: start-up stays light

    shown, celsius, water = style.shown, plan.temperature_c, plan.water
    at, after = f"{shown(celsius, 1)} °C", gauge_ahead(plan.after, celsius)
    steps = [
        {
            "step": number + 1, "day": number * rest_days, "water_kg": step.water.mass_mg / 1e6,
            "water_l": plan.water_l(step.water), **_gauge(gauge_ahead(step.after, celsius)),
        }
        for number, step in enumerate(plan.steps)
    ]  # fmt: skip
    document: dict[str, Any] = {
        "water_kg": water.mass_mg / 1e6,
        "water_l": plan.water_l(water),
        "final_volume_l": after.volume_l,
        "contraction_l": plan.contraction_l,
        "temperature_c": celsius,
        "water_temperature_c": plan.water_c,
        "before": _gauge(gauge_ahead(plan.before, celsius)),
        "after": _gauge(after),
        "steps": steps,
    }
    if plan.us_water is None:
        document |= {"spirit_kg": plan.added_spirit.mass_mg / 1e6, "spirit_l": plan.added_spirit_l}
        added = ("add spirit", _kg_and_l(document["spirit_kg"], document["spirit_l"], shown, at))
    else:
        document |= plan.us_water._asdict()
        water_at = f"{shown(plan.water_c, 1)} °C"
        added = ("add water", _kg_and_l(document["water_kg"], document["water_l"], shown, water_at))
    drawn_kg = (plan.spirit - plan.before).mass_mg / 1e6
    document |= {"draw_off_kg": drawn_kg, "draw_off_l": plan.draw_off_l}
    lines = [("draw off first", f"{shown(plan.draw_off_l, 2)} l = {shown(drawn_kg, 2)} kg")] if drawn_kg else []
    lines += [
        added,
        ("makes", f"{shown(after.volume_l, 2)} l at {at}, {shown(after.mass_kg, 2)} kg"),
        (
            "strength",
            f"{shown(after.strength_20c or 0.0, 2)} % vol at 20 °C, {shown(after.proof_60f or 0.0, 1)} US proof",
        ),
        ("contraction", f"{shown(plan.contraction_l, 2)} l"),
    ]
    if plan.us_water is not None:
        per_100, pounds = (shown(value, 2) for value in plan.us_water)
        lines.append(("US figures", f"{per_100} of water for 100 volumes at 60 °F, {pounds} lb in air"))
    if after.extract_g_per_l:
        seen = after.apparent_strength_20c
        words = NO_APPARENT if seen is None else f"{shown(seen, 2)} % vol at 20 °C, apparent"
        lines.append(("hydrometer shows", words))
    return _with_us_figures(document, lines, plan.official, style, *(_steps(steps, shown) if len(steps) > 1 else ()))


def _kg_and_l(kg: float, litres: float, shown: "_Write", at: str) -> str:
    return f"{shown(kg, 2)} kg = {shown(litres, 2)} l at {at}"


def _steps(steps: list[dict[str, Any]], shown: "_Write") -> tuple[str, ...]:
    figures = ("water_kg", "water_l", "volume_l", "strength_20c")
    return table(
        ("step", " day", " water kg", " water l", " then l", " % vol"),
        [(str(step["step"]), str(step["day"]), *(shown(step[name], 2) for name in figures)) for step in steps],
    )


def vatting_shown(found: "Vatting", style: "HouseStyle") -> Shown:
    """Spirits and what they make."""
    shown, whole = style.shown, found.whole
    document = {
        "parts": [{"part": one.part, "found": one.found, **_gauge(one.gauge)} for one in found.parts],
        **_gauge(whole),
        "contraction_l": found.contraction_l,
        "temperature_c": found.temperature_c,
    }
    rows = [
        (name, *(shown(value, 2) for value in (gauge.mass_kg, gauge.volume_l, gauge.lpa)))
        for name, gauge in (*((one.part, one.gauge) for one in found.parts), ("whole", whole))
    ]
    strength, proof = shown(whole.strength_20c or 0.0, 3), shown(whole.proof_60f or 0.0, 2)
    lines = (
        ("strength", f"{strength} % vol at 20 °C, {proof} proof"),
        ("contraction", f"{shown(found.contraction_l, 2)} l"),
    )
    return Shown(document, (*table(("part", " kg", " l", " LPA"), rows), *aligned(lines)), (CAUTION,))
