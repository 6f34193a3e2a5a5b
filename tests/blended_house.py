"""The sample house with its third warehouse, kinds of spirit, rules and a trial that was poured and tasted."""

from command import Desk, here

from pourbook.shipped import shipped

PARTS = {"Oak base": (70.0, 80.0), "Quince finish": (15.0, 21.0), "Mulberry accent": (6.5, 7.5)}
"""Bounds of the recipe. Common practice, no source: a rich component is held at about 7 %, no component at 100 %."""


def blended_house(folder):
    """A desk at the book of that house, made in a folder; its trial is 'Trial 26-C' of the recipe 'House blend'."""
    here("demo", str(folder)).done()
    desk, data = Desk(folder / "quillmere.pourbook", here), shipped("sample_data")
    desk.does(f"import casks '{data}/stock.csv' --who 'Maud Aldane'")
    desk.does(f"import gauges '{data}/stock_gauges.csv' --who 'Maud Aldane'")
    desk.does("settings --set most_of_one=85 --set role.accent=0..8 --set approval=needed")
    desk.does("location 'Warehouse 3' --storage stow --levels row/tier/position")
    malt = "--spirit 'malt spirit'"
    desk.does(f"component 'Oak base' {malt} --wood 'refill oak' --min-age 8 --role base")
    desk.does(f"component 'Quince finish' {malt} --wood 'quince-brandy' --min-age 8 --role finish")
    desk.does(f"component 'Mulberry accent' {malt} --wood mulberry --role accent --bounds 0..8")
    desk.does(
        "recipe 'House blend' --part 'Oak base=75 in 70..80' --part 'Quince finish=18 in 15..21'"
        " --part 'Mulberry accent=7 in 6.5..7.5'"
    )
    uses, by = "", "--who 'Isla Farrow'"
    for number, (kind, cask, strength) in enumerate(
        (("Oak base", "Q 404", 60.2), ("Quince finish", "Q 423", 59.6), ("Mulberry accent", "Q 431", 60.4)), 11
    ):
        when = "--when '2026-09-01 10:00'"
        desk.does(f"draw '{cask}' '250 ml' --strength {strength} --ref 'S 26-{number}' {when} {by}")
        uses += f" --use '{kind}=S 26-{number}'"
    when = "--when '2026-09-02 10:00'"
    desk.does(f"trial --recipe 'House blend' {uses} --total '100 ml' --ref 'Trial 26-C' {when} {by}")
    desk.does(f"pour 'Trial 26-C' 'S 26-11' 75 'S 26-12' 18 'S 26-13' 7 --when '2026-09-02 10:10' {by}")
    taster = "--when '2026-09-02 11:00' --who 'Pankracy Wiżbor'"
    desk.does(f"taste 'Trial 26-C' --nose 'quince 3, honey 2' --score 86 {taster}")
    return desk
