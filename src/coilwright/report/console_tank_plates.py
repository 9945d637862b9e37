"""A home-made tank capacitor, as tables."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from coilwright.analyses.tank_plates import plates_words
from coilwright.analyses.tank_results import PlatesResult, TankResult
from coilwright.report.console import estimated, print_block, print_indented, sheet
from coilwright.report.quantities import figures, fixed, quantity


def print_plates(console: Console, result: TankResult) -> None:
    """Print what the home-made capacitor stands, loses and is cut from; nothing where there is none."""
    p = result.plates
    if p is None:
        return
    whose = "Home-made tank capacitor" if p.own else "A home-made tank capacitor that would do"
    console.print(Text(f"{whose}: {plates_words(p)}", style="bold"))
    print_indented(console, [f"Against it: {line}." for line in p.reasons], 0)
    console.print()
    print_block(console, _figures(p), _cuts(p))
    print_indented(console, [f"limit: {line}" for line in p.limits], 0)
    console.print()


def plate_rows(p: PlatesResult) -> tuple[tuple[str, str, str], ...]:
    """Return what the capacitor stands and loses: label, value with unit and mark (band below), basis."""
    rows = [
        ("capacitance", p.capacitance),
        ("rated, peak across", p.rated_peak),
        ("edge glows in air, peak", p.corona_peak),
        ("edge glows in oil, peak", p.corona_peak_oil),
        ("loss", p.loss),
        ("temperature rise", p.temperature_rise),
    ]
    out = [(label, estimated(e), e.basis if e is not None else "") for label, e in rows]
    s = p.strength
    field = "not known" if p.field_peak is None else f"~{figures(p.field_peak / 1e6)} kV/mm"
    edge = "not known" if p.edge_field_peak is None else f"~{figures(p.edge_field_peak / 1e6)} kV/mm"
    strength = f"~{figures(s.value / 1e6)} kV/mm\n{figures(s.low / 1e6)} to {figures(s.high / 1e6)}"
    out[1:1] = [
        ("field, gap missing", field, "between the foils"),
        ("at the foil's edge", edge, "in the dielectric, where the foil ends"),
        ("short-time strength", strength, s.basis),
    ]
    tangent = p.loss_tangent
    band = f"{100 * tangent.low:.2g} to {100 * tangent.high:.2g}"
    out.insert(7, ("loss tangent", f"~{100 * tangent.value:.2g} %\n{band}", tangent.basis))
    out.append(("mass", f"~{figures(p.mass)} kg" if p.mass is not None else "not known", "without box and oil"))
    litres = "none" if p.oil_volume is None else f"~{figures(1e3 * p.oil_volume)} l"
    out.append(("oil", litres, "box 20 mm larger all round" if p.oil_volume is not None else "bottles stand dry"))
    return tuple(out)


def _figures(p: PlatesResult) -> Table:
    table = sheet("What it stands and loses", "", "value", "how", right=(1,))
    for row in plate_rows(p):
        table.add_row(*row)
    return table


def _cuts(p: PlatesResult) -> Table:
    table = sheet("To cut", "piece", "count", "long, mm", "wide, mm", "thick, mm", "of", right=(1, 2, 3, 4))
    for c in p.sheets:
        thick = "-" if c.thickness is None else fixed(c.thickness, 1e-3)
        table.add_row(c.what, str(c.count), fixed(c.length, 1e-3), fixed(c.width, 1e-3), thick, c.material)
    table.caption = f"Margin of the sheet beyond the foil: {quantity(p.margin, 'm')} on every side."
    table.caption_justify = "left"
    return table


__all__ = ["plate_rows", "print_plates"]
