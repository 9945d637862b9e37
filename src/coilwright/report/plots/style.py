"""One look for all figures: black and greys, told apart by their lines, on paper."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import matplotlib as mpl
from matplotlib import font_manager
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

INCH = 0.0254
FONTS = Path(__file__).parent.parent / "fonts"
INK, SOFT, FAINT = "black", "0.35", "0.75"
#: Behind words that would else lie on a line.
PAPER: dict[str, Any] = {"facecolor": "white", "edgecolor": "none", "pad": 0.8, "alpha": 0.9}

_SETTINGS: dict[Any, Any] = {
    "axes.edgecolor": INK,
    "axes.labelsize": 8,
    "axes.linewidth": 0.6,
    "axes.spines.right": False,
    "axes.spines.top": False,
    "axes.titlesize": 8,
    "axes.unicode_minus": True,
    "font.family": ["B612", "DejaVu Sans"],
    "font.size": 8,
    "grid.color": "0.88",
    "grid.linewidth": 0.4,
    "lines.linewidth": 1.1,
    "lines.markersize": 4.5,
    "svg.fonttype": "none",  # words stay words: they can be searched and copied in the PDF
    "svg.hashsalt": "coilwright",  # the same figure has the same bytes
    "text.parse_math": False,  # a dollar sign in a builder's name is a dollar sign
    "xtick.labelsize": 7.5,
    "ytick.labelsize": 7.5,
}


def svg_of(draw: Callable[[Axes], None], width: float, height: float) -> str:
    """Return the figure as SVG text. Width and height in m on paper. The same input gives the same text."""
    known = {entry.fname for entry in font_manager.fontManager.ttflist}
    for font in sorted(FONTS.glob("*.otf")):
        if str(font) not in known:
            font_manager.fontManager.addfont(str(font))
    buffer = io.StringIO()
    with mpl.rc_context(_SETTINGS):
        figure = Figure(figsize=(width / INCH, height / INCH), layout="constrained")
        FigureCanvasSVG(figure)
        draw(figure.add_subplot())
        figure.savefig(buffer, format="svg", metadata={"Date": None})
    return buffer.getvalue()


def axis_scale(largest: float) -> tuple[float, str]:
    """Return the scale and prefix that suit an axis whose largest value is this."""
    for scale, prefix in ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "µ"), (1e-9, "n")):
        if abs(largest) >= scale:
            return scale, prefix
    return 1.0, ""


def says(axes: Axes, text: str) -> None:
    """Fill the axes with words instead of a curve: nothing is drawn that is not known."""
    axes.set_axis_off()
    axes.text(
        0.5,
        0.5,
        text,
        transform=axes.transAxes,
        ha="center",
        va="center",
        fontsize=9,
        color=INK,
        wrap=True,
        parse_math=False,
    )


def word_beside(axes: Axes, at: float, words: str) -> None:
    """Write words upright along a vertical line at ``at``, from the foot of the axes."""
    axes.annotate(
        words,
        (at, 0.02),
        xycoords=("data", "axes fraction"),
        textcoords="offset points",
        xytext=(-3, 0),
        fontsize=7,
        color=SOFT,
        rotation=90,
        ha="right",
        va="bottom",
        bbox=PAPER,
        parse_math=False,
    )


def line_of(mark: str) -> str:
    """Return the line style of a mark: pencil is dashed, ink and stamped are drawn through."""
    return "--" if mark == "pencil" else "-"
