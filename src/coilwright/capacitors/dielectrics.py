"""Materials between the electrodes of a capacitor: permittivity, loss, strength, and what speaks against them.

One table for both users: the sheets of a home-made capacitor, found by name, and the capacitors that are bought, found
by the words on them. Where a bought one loses more than its material does (metal film, contacts, leads), its own loss
stands beside it. A factor of two to three either way is usual for any loss.
"""

from __future__ import annotations

from dataclasses import KW_ONLY, dataclass
from difflib import get_close_matches
from math import sqrt

from coilwright.errors import InputError, Problem

#: Loss tangent at 100 kHz above which a dielectric is counted unfit for a pulsed tank (our rule, no source).
MOST_LOSS = 0.005

_SEEN = "general materials data set, seen; it names no primary source"
_SHACKELFORD = "seen in J. F. Shackelford, CRC Materials Science and Engineering Handbook (2001), table 434 (60 Hz)"
_MEMORY = "from memory of general handbooks (A. von Hippel 1954; Kaye and Laby)"


@dataclass(frozen=True)
class Range:
    """A value with the range in which handbooks put it. ``status`` is "seen", "memory" or "assumption"."""

    value: float
    low: float
    high: float
    status: str = "memory"
    source: str = _MEMORY


@dataclass(frozen=True)
class Strength:
    """The anchor of the strength law: V/m at ``thickness`` m, for a piece of `sheets.REFERENCE_AREA`."""

    field: Range
    thickness: float


@dataclass(frozen=True)
class Dielectric:
    """One material. ``unfit`` says why it is none for a tank ("" where it may be used).

    ``words`` are those by which a bought capacitor of it is known, its kind of film or ceramic (() where none is sold);
    ``part_mains`` and ``part_ring`` are the loss of such a part where it is not that of the material, ``part_unfit``
    what is said of it where a sheet might still be used.
    """

    name: str
    permittivity: Range
    loss_mains: Range  # loss tangent at 50 or 60 Hz
    loss_ring: Range  # at about 100 kHz to 1 MHz
    _: KW_ONLY
    aliases: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    part_mains: Range | None = None
    part_ring: Range | None = None
    unfit: str = ""
    part_unfit: str = ""

    @property
    def loss_of_part(self) -> tuple[Range, Range]:
        """Return the loss tangents of a bought capacitor at mains frequency and at about 100 kHz."""
        return self.part_mains or self.loss_mains, self.part_ring or self.loss_ring


@dataclass(frozen=True)
class SheetDielectric(Dielectric):
    """A material that a home-made capacitor can be made of.

    ``density`` in kg/m3, ``temperature`` [K] the highest for continuous use, ``doubt`` what to know before using it;
    ``liquid`` needs spacers and is no sheet.
    """

    _: KW_ONLY
    strength: Strength
    density: float
    temperature: float
    doubt: str = ""
    liquid: bool = False


def _range(low: float, high: float, status: str = "memory", source: str = _MEMORY, value: float | None = None) -> Range:
    """Return the range with its geometric middle."""
    return Range(sqrt(low * high) if value is None else value, low, high, status, source)


def _kv_mm(low: float, high: float, thickness: float) -> Strength:
    return Strength(_range(low * 1e6, high * 1e6), thickness)


def _anchor(value: float, thickness: float) -> Strength:
    """Return a strength that was seen; a factor 1.4 either way (assumption) for another maker's sheet."""
    return Strength(Range(value * 1e6, value * 1e6 / 1.4, value * 1e6 * 1.4, "seen", _SEEN), thickness)


# A bought capacitor is of the first material of which a word fits, so those with two names of films in theirs (PET,
# PEN, paper in oil) stand before them.
MATERIALS: tuple[Dielectric, ...] = (
    Dielectric("electrolytic", _range(8.0, 10.0, value=9.0), _range(0.02, 0.3, value=0.1), _range(0.1, 10.0),
               words=("electrolytic", "aluminium oxide", "tantalum"), unfit="it stands one polarity only"),
    SheetDielectric("polyester", _range(3.0, 3.3), _range(1e-3, 4e-3), _range(0.01, 0.016),
                    strength=_anchor(120, 60e-6), density=1390, temperature=378.15,
                    aliases=("pet", "pet film", "polyester film"),
                    words=("terephthalate", "polyester", "pet", "mkt", "fkt"),
                    unfit="its loss tangent of about 0.013 at the ring heats it"),
    Dielectric("PEN", _range(2.9, 3.1, value=3.0), _range(2e-3, 6e-3, value=4e-3), _range(5e-3, 1.5e-2, value=1e-2),
               words=("naphthalate", "pen"), unfit="its loss tangent of about 0.01 at the ring heats it"),
    SheetDielectric("pvc", _range(3.2, 3.6), _range(0.01, 0.02), _range(0.02, 0.06),
                    strength=_kv_mm(14, 43, 1e-3), density=1400, temperature=333.15,
                    aliases=("vinyl", "polyvinyl chloride"), words=("pvc", "vinyl"),
                    unfit="its loss tangent of 0.02 to 0.06 at the ring heats and softens it, and burnt it gives off "
                    "hydrogen chloride"),
    SheetDielectric("polycarbonate", _range(2.9, 3.0), _range(5e-4, 2e-3, "seen", _SHACKELFORD, 9e-4),
                    _range(5e-3, 2e-2), strength=_kv_mm(15, 35, 1e-3), density=1200, temperature=388.15,
                    aliases=("pc",), words=("polycarbonate", "mkc", "fkc"),
                    unfit="its loss tangent of about 0.01 at the ring heats it"),
    Dielectric("class 1 ceramic", _range(12.0, 300.0), _range(2e-4, 1e-3, value=5e-4),
               _range(2e-4, 1.5e-3, value=5e-4), words=("np0", "c0g", "class 1")),
    SheetDielectric("class 2 ceramic", _range(1000, 5000), _range(0.01, 0.02), _range(0.01, 0.03),
                    strength=_kv_mm(3, 8, 1e-3), density=5800, temperature=358.15,
                    aliases=("barium titanate", "class-2 ceramic", "x7r", "z5u", "y5v"),
                    words=("ceramic", "titanate", "x7r", "y5v", "z5u", "class 2"),
                    unfit="it loses 30 to 80 % of its capacitance near its rated volts, and its loss tangent of 0.01 "
                    "to 0.03 heats it until it cracks",
                    part_unfit="it, or ceramic of a class not stated, loses 30 to 80 % of its capacitance near its "
                    "rated volts, and its loss tangent of 0.01 to 0.03 heats it until it cracks"),
    SheetDielectric("kraft paper in oil", _range(3.5, 4.0), _range(0.003, 0.005), _range(0.01, 0.03),
                    strength=_kv_mm(40, 60, 100e-6), density=1100, temperature=363.15,
                    aliases=("oiled paper", "paper in oil"), words=("paper", "kraft", "oil"),
                    unfit="its loss tangent of about 0.017 at the ring heats it, and wet paper breaks down"),
    SheetDielectric("polypropylene film", Range(2.2, 2.1, 2.3), _range(1e-4, 3e-4), _range(2e-4, 5e-4),
                    strength=_kv_mm(400, 650, 10e-6), density=905, temperature=358.15,
                    aliases=("pp film", "bopp", "capacitor film"), words=("polypropylene", "pp", "mkp", "fkp"),
                    part_mains=_range(1e-4, 2e-3, value=3e-4), part_ring=_range(2e-4, 1e-3, value=5e-4)),
    SheetDielectric("polystyrene", _range(2.5, 2.6, "seen", _SEEN), _range(1e-4, 3e-4, "seen", _SHACKELFORD),
                    _range(1e-4, 2e-4), strength=_kv_mm(20, 30, 1e-3), density=1050, temperature=343.15,
                    aliases=("ps",), words=("polystyrene", "ks"), part_ring=_range(1e-4, 3e-4, value=1.5e-4)),
    SheetDielectric("ptfe", _range(2.0, 2.1, "seen", _SEEN), _range(1e-4, 3e-4, "seen", _SHACKELFORD, 2e-4),
                    _range(1e-4, 4e-4, value=2e-4), strength=_anchor(80, 0.25e-3), density=2180, temperature=473.15,
                    aliases=("polytetrafluoroethylene",), words=("ptfe", "tetrafluoroethylene")),
    SheetDielectric("mica", _range(6.5, 8.7, value=7.1), _range(3e-4, 3e-3), _range(2e-4, 4e-4),
                    strength=_kv_mm(100, 200, 50e-6), density=2850, temperature=773.15,
                    aliases=("muscovite",), words=("mica",),
                    part_ring=_range(2e-4, 1e-3, value=4e-4)),
    SheetDielectric("polyethylene", _range(2.21, 2.35), _range(1e-4, 5e-4, "seen", _SHACKELFORD),
                    _range(2e-4, 3e-4), strength=_kv_mm(18, 50, 1e-3), density=930, temperature=343.15,
                    aliases=("pe", "ldpe", "hdpe", "polythene"), words=("polyethylene", "pe"),
                    part_ring=_range(2e-4, 5e-4, value=3e-4)),
    SheetDielectric("glass", _range(6.5, 7.8), _range(0.02, 0.1), _range(0.005, 0.012),
                    strength=_kv_mm(10, 30, 1e-3), density=2500, temperature=373.15,
                    aliases=("soda-lime glass", "window glass", "bottle glass"), words=("glass",),
                    part_unfit="its loss tangent of about 0.008 at the ring heats it, and hot it breaks down",
                    doubt="glass loses 0.5 to 1.2 % of the ring's swing, weakens as it heats, and shatters"),
    SheetDielectric("polypropylene", _range(2.2, 2.3), _range(5e-4, 7e-4, "seen", _SHACKELFORD),
                    _range(2e-4, 5e-4), strength=_kv_mm(20, 40, 1e-3), density=905, temperature=363.15,
                    aliases=("pp",)),
    SheetDielectric("acrylic", _range(3.3, 3.9), _range(0.05, 0.065), _range(0.02, 0.03),
                    strength=_kv_mm(15, 20, 1e-3), density=1190, temperature=348.15,
                    aliases=("pmma", "polymethyl methacrylate"),
                    unfit="its loss tangent of about 0.025 heats and softens it"),
    SheetDielectric("borosilicate glass", _range(4.6, 5.0), _range(0.005, 0.02), _range(0.004, 0.006),
                    strength=_kv_mm(15, 35, 1e-3), density=2230, temperature=423.15, aliases=("borosilicate",),
                    doubt="glass loses about 0.5 % of the ring's swing, weakens as it heats, and shatters"),
    SheetDielectric("porcelain", _range(5.5, 6.5), _range(0.01, 0.03), _range(0.005, 0.01),
                    strength=_kv_mm(10, 30, 1e-3), density=2400, temperature=573.15,
                    doubt="porcelain loses 0.5 to 1 % of the ring's swing"),
    SheetDielectric("epoxy", _range(3.3, 4.0), _range(0.003, 0.007), _range(0.015, 0.03),
                    strength=_kv_mm(15, 25, 1e-3), density=1200, temperature=373.15,
                    aliases=("epoxy resin",),
                    unfit="its loss tangent of about 0.02 at the ring heats it"),
    SheetDielectric("glass-epoxy laminate", _range(4.4, 4.8), _range(0.01, 0.02), _range(0.015, 0.02),
                    strength=_anchor(20, 1e-3), density=1850, temperature=393.15,
                    aliases=("fr4", "fr-4", "circuit board"),
                    unfit="its loss tangent of about 0.017 at the ring heats it, and along its layers it stands 5 to "
                    "10 kV/mm"),
    SheetDielectric("polyimide", Range(3.4, 3.23, 3.57, "seen", _SEEN), _range(1e-3, 4e-3), _range(2e-3, 5e-3),
                    strength=_anchor(154, 125e-6), density=1420, temperature=493.15, aliases=("polyimide film",)),
    SheetDielectric("polyamide-imide", _range(3.5, 4.2), _range(0.003, 0.008), _range(0.01, 0.02),
                    strength=_anchor(140, 50e-6), density=1400, temperature=473.15, aliases=("pai",),
                    unfit="it is an enamel, not a sheet, and its loss tangent of 0.014 at the ring heats it"),
    SheetDielectric("oil", _range(2.1, 2.3), _range(5e-4, 5e-3), _range(5e-5, 1e-3),
                    strength=_kv_mm(12, 28, 2.5e-3), density=880, temperature=363.15,
                    aliases=("transformer oil", "mineral oil"), liquid=True),
    SheetDielectric("air", Range(1.0006, 1.0, 1.001), Range(0.0, 0.0, 0.0), Range(0.0, 0.0, 0.0),
                    strength=_kv_mm(2.4, 3.1, 10e-3), density=1.2, temperature=400.0, liquid=True),
)  # fmt: skip
#: The sheets by name.
DIELECTRICS = {d.name: d for d in MATERIALS if isinstance(d, SheetDielectric)}
#: A capacitor whose dielectric nobody has stated: anything from polypropylene to PET.
UNKNOWN = Dielectric("not stated", Range(2.2, 2.0, 3.3, "assumption", "not stated"),
                     Range(2e-3, 1e-4, 2e-2, "assumption", "not stated"),
                     Range(5e-3, 2e-4, 2e-2, "assumption", "not stated"))  # fmt: skip
_BY_NAME = {n: d for d in DIELECTRICS.values() for n in (d.name, *d.aliases)}


def find(name: str) -> SheetDielectric | None:
    """Return the sheet of that name or alias, whatever its case; None where there is none."""
    return _BY_NAME.get(" ".join(name.lower().replace("_", " ").split()))


def dielectric(name: str, where: str = "dielectric", line: int | None = None) -> SheetDielectric:
    """Return the dielectric of that name or alias.

    Raises
    ------
    InputError
        If none is called so; the hint names the known ones.
    """
    found = find(name)
    if found is None:
        near = get_close_matches(name.lower(), _BY_NAME, 1)
        hint = (f'Perhaps "{near[0]}". ' if near else "") + f"Known: {', '.join(sorted(DIELECTRICS))}."
        raise InputError([Problem(where, line, f'no dielectric is called "{name}"', hint)])
    return found


def dielectric_of(words: str | None) -> Dielectric:
    """Return the dielectric that the words on a capacitor name; UNKNOWN where they name none of ours.

    Short codes (PP, PET, MKP ...) count only as words of their own. Bought polypropylene is film.

    >>> dielectric_of("metallised polypropylene").name, dielectric_of("polyethylene terephthalate").name
    ('polypropylene film', 'polyester')
    >>> dielectric_of("MKP").name, dielectric_of(None).name, dielectric_of("ceramic").name
    ('polypropylene film', 'not stated', 'class 2 ceramic')
    """
    text = (words or "").lower()
    tokens = set(text.replace("-", " ").replace("/", " ").replace(",", " ").split())
    for found in MATERIALS:
        if any(word in tokens if len(word) <= 3 else word in text for word in found.words):
            return found
    return UNKNOWN


def is_foil(words: str | None) -> bool:
    """Return whether the words say that the electrodes are foils, which carry far more pulse current than a metal film.

    >>> is_foil("polypropylene film and foil"), is_foil("FKP"), is_foil("metallised polypropylene")
    (True, True, False)
    """
    text = (words or "").lower()
    return "foil" in text or any(word in {"fkp", "fkt"} for word in text.split())


__all__ = [
    "DIELECTRICS",
    "MATERIALS",
    "MOST_LOSS",
    "UNKNOWN",
    "Dielectric",
    "Range",
    "SheetDielectric",
    "Strength",
    "dielectric",
    "dielectric_of",
    "find",
    "is_foil",
]
