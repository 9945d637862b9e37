"""The commands and their options. Nothing but click is imported until a command runs."""

from __future__ import annotations

from typing import Any

import click

from coilwright import __version__
from coilwright.cli.ask import ask

SETTINGS: dict[str, Any] = {"help_option_names": ["-h", "--help"], "max_content_width": 100}


class Group(click.Group):
    """Shows the commands in the order in which a builder needs them."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002  # the name that click passes
        return list(self.commands)


@click.group(cls=Group, context_settings=SETTINGS)
@click.version_option(__version__, prog_name="coilwright")
def program() -> None:
    """From a shelf of salvaged iron to a current-limited high-voltage supply.

    Write down what is on the shelf with a few bench readings, then ask: `check` the file, `shelf` for what each part
    really is, `plan` for the supplies it can make, `supply` for the chosen one, `book` for the printed sheets.

    Results go to stdout, progress and messages to stderr. Exit code 0: done; 1: a STOP is open that is not a standing
    one, or nothing could be ranked; 2: the input is wrong.
    """


as_json_option = click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of tables.")
project_argument = click.argument("project", metavar="PROJECT")


@program.command(short_help="Run the demo project, from shelf to book.")
@click.argument("folder", metavar="[DIR]", default="coilwright-demo", required=False)
@as_json_option
def demo(folder: str, as_json: bool) -> int:
    """Run the demo project from shelf to book in DIR (coilwright-demo).

    Writes the demo project there unless it is already there, then runs check, shelf, plan, polarity, supply and book
    on it. Three things are wrong on that bench on purpose, so STOPs are open. The exit code is 0 all the same when it
    ran to its end.
    """
    from coilwright.cli import demo as commands

    return commands.demo(folder, as_json=as_json)


@program.command(short_help="Start a project file.")
@click.argument("path", metavar="PATH")
@click.option("--demo", "from_demo", is_flag=True, help="Start from the demo shelf instead of an empty one.")
@as_json_option
def start(path: str, from_demo: bool, as_json: bool) -> int:
    """Start a project file at PATH (.coil.toml is added where missing).

    Never overwrites anything.
    """
    from coilwright.cli import files

    return files.start(path, from_demo=from_demo, as_json=as_json)


@program.command(short_help="Check the project file: every problem, line and way out.")
@project_argument
@click.option("--all", "show_all", is_flag=True, help="List every problem, not only one screen of them.")
@as_json_option
def check(project: str, show_all: bool, as_json: bool) -> int:
    """Check the project file: every problem with its line and the way out."""
    from coilwright.cli import files

    return files.check(project, show_all=show_all, as_json=as_json)


@program.command(short_help="What each part really is; doubtful readings; the next one.")
@project_argument
@as_json_option
def shelf(project: str, as_json: bool) -> int:
    """Show what each part really is, the doubtful readings, and the reading to take next."""
    from coilwright.cli import stages

    return stages.shelf(project, as_json=as_json)


@program.command(short_help="Rank the supplies that the shelf can make.")
@project_argument
@click.option("--take", metavar="N", help="Write row N of the plan into the project, as the supply in use.")
@as_json_option
def plan(project: str, take: str | None, as_json: bool) -> int:
    """Rank the supplies that the shelf can make, and say why the others are refused.

    `--take N` writes a ranked row into the project file, keeping its comments; `supply` then repeats its numbers. A
    refused row cannot be taken.
    """
    from coilwright.cli import stages

    return stages.plan(project, take=take, as_json=as_json)


@program.command(short_help="Compute the chosen supply.")
@project_argument
@click.option(
    "--load",
    "loads",
    metavar="R",
    multiple=True,
    help='Add the working point at this load resistance, as in --load "8 kohm". Can be given again.',
)
@click.option("--arrangement", metavar="NAME", help="Compute this arrangement instead of the one in use.")
@click.option(
    "--through",
    metavar="LIMITER",
    default="none",
    show_default=True,
    help='The first test on the mains: this lamp or heater in series, as in --through "500 W" or "1 kW heater".',
)
@as_json_option
def supply(project: str, loads: tuple[str, ...], arrangement: str | None, through: str, as_json: bool) -> int:
    """Compute the chosen supply: volts, currents, droop, stress, cores, mains, and the tank without its gap."""
    from coilwright.cli import stages

    return stages.supply(project, loads=loads, arrangement=arrangement, through=through, as_json=as_json)


@program.command(short_help="Low-voltage sheet: which winding is reversed.")
@project_argument
@click.option("--drive", metavar="V", help='Volts of the adapter, as in --drive "6 V" (default: at most 12 V).')
@click.option("--at", metavar="A,B", help="The two joints that the adapter feeds.")
@click.option(
    "--read",
    "reads",
    metavar="A,B=V",
    multiple=True,
    help='What the meter shows between two joints, as in --read "hot_b,ground=9.8 V". Can be given again.',
)
@click.option("--arrangement", metavar="NAME", help="Prove this arrangement instead of the one in use.")
@as_json_option
def polarity(
    project: str, drive: str | None, at: str | None, reads: tuple[str, ...], arrangement: str | None, as_json: bool
) -> int:
    """Show what a meter reads at low volts for every sense of the windings, and which sense the readings show.

    Readings come from the project and from --read. The mains plug is out and in sight throughout.
    """
    from coilwright.cli import polarity as commands

    return commands.polarity(project, drive=drive, at=at, reads=reads, arrangement=arrangement, as_json=as_json)


@program.command(short_help="Every single mistake of the wiring, solved; its telltale.")
@project_argument
@click.option("--arrangement", metavar="NAME", help="Take this arrangement instead of the one in use.")
@as_json_option
def slips(project: str, arrangement: str | None, as_json: bool) -> int:
    """Solve every single mistake that the chosen wiring lets one make, the worst first.

    For each: volts, currents, what one would see, where it kills, and the reading that exposes it with the plug out.
    """
    from coilwright.cli import slips as commands

    return commands.slips(project, arrangement=arrangement, as_json=as_json)


@program.command(short_help="Supply gates: what is read before mains is connected.")
@project_argument
@click.option(
    "--read",
    "reads",
    metavar="ROW=VALUE",
    multiple=True,
    help='Judge this reading, as in --read "T1.primary=0.80 ohm". Can be given again.',
)
@click.option("--arrangement", metavar="NAME", help="Take this arrangement instead of the one in use.")
@as_json_option
def gate(project: str, reads: tuple[str, ...], arrangement: str | None, as_json: bool) -> int:
    """Show the supply gates in order: what is read, what it should be, and what the readings say.

    Gates advise: one that agrees says that its readings agree with the models, and nothing else. Exit code 1 while a
    STOP is open or a gate does not agree.
    """
    from coilwright.cli import gates

    return gates.gate(project, reads=reads, arrangement=arrangement, as_json=as_json)


@program.command(short_help="Tank capacitor, gap and protection for the supply.")
@project_argument
@click.option("--arrangement", metavar="NAME", help="Take this arrangement instead of the one in use.")
@as_json_option
def tank(project: str, arrangement: str | None, as_json: bool) -> int:
    """Size the tank capacitor, the gap and what protects them, for the supply as it really is.

    Shows the capacitances at which every part holds when the gap misses, the best strings of what is on the shelf,
    home-made plates, spacings, the safety gap's window, filter, fuse, bleeders, stored energy and keep-out distance.
    """
    from coilwright.cli import tank as commands

    return commands.tank(project, arrangement=arrangement, as_json=as_json)


@program.command(short_help="The radio-frequency side: modes, inductances, taps.")
@project_argument
@as_json_option
def coil(project: str, as_json: bool) -> int:
    """Compute secondary, top load and primary from their geometry, turn by turn.

    Inductances, capacitances, resonances with everything around, losses, breakout volts, coupling and the tap table.
    """
    from coilwright.cli import coil as commands

    return commands.coil(project, as_json=as_json)


@program.command(short_help="Write the build book as a PDF.")
@project_argument
@click.option("--out", metavar="FILE", help="Write the PDF here (default: beside the project, with its name).")
@click.option(
    "--paper",
    type=click.Choice(["a4", "letter"], case_sensitive=False),
    default="a4",
    show_default=True,
    help="Paper size.",
)
@as_json_option
def book(project: str, out: str | None, paper: str, as_json: bool) -> int:
    """Write the build book as a PDF: hazards first, wiring drawing, part list, clearances, plots, expected readings."""
    from coilwright.cli import outputs

    return outputs.book(project, out=out, paper=paper, as_json=as_json)


@program.command(short_help="Export the network for ngspice, or a drawing.")
@click.argument("project", metavar="PROJECT")
@click.argument("kind", metavar="spice|svg")
@click.option("--out", metavar="FILE", help="Write to this file instead of stdout.")
@click.option("--arrangement", metavar="NAME", help="Export this arrangement instead of the one in use.")
@click.option(
    "--drawing",
    metavar="NAME",
    default="wiring",
    show_default=True,
    help="Which drawing `svg` is: wiring, string, plates, gap, rotor or protection.",
)
@as_json_option
def export(project: str, kind: str, out: str | None, arrangement: str | None, drawing: str, as_json: bool) -> int:
    """Export the supply in use: `spice` is its network for ngspice, `svg` a drawing.

    The format may also stand first, as in `export spice PROJECT`.
    """
    from coilwright.cli import outputs

    return outputs.export(project, kind=kind, out=out, arrangement=arrangement, as_json=as_json, drawing=drawing)


program.add_command(ask)


@program.command(short_help="Versions, fonts, optional parts, write access.")
@as_json_option
def about(as_json: bool) -> int:
    """Show versions, fonts, which optional parts are there, and whether this folder can be written."""
    from coilwright.cli import about as commands

    return commands.about(as_json=as_json)


@program.command(short_help="Print the JSON Schema of a command's output.")
@click.argument("name", metavar="[NAME]", required=False)
@as_json_option
def schema(name: str | None, as_json: bool) -> int:
    """Print the JSON Schema of a command's --json output, or of the project file (NAME project).

    Without NAME, lists the names.
    """
    from coilwright.cli import about as commands

    return commands.schema(name, as_json=as_json)
