"""The dimensions that the unit parser knows: accepted spellings, how a value is written, and what no bench has.

Factors are exact decimal (or fractional) texts, so that "4.7 nF" becomes the float nearest to 4.7e-9. Conversion
factors of inch, foot, pound, ounce and millimetre of mercury: NIST Special Publication 811 (2008), appendix B.8. Wire
gauges: ASTM B258.
"""

# fmt: off
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

#: The finest gauge that is accepted; magnet wire is not sold beyond it.
AWG_MOST: Final = 56

_PREFIX: Final = {
    "p": "1e-12", "n": "1e-9", "u": "1e-6", "m": "1e-3", "c": "1e-2", "": "1", "k": "1e3", "M": "1e6", "G": "1e9",
    "T": "1e12",
}


@dataclass(frozen=True)
class Dimension:
    """One kind of quantity.

    ``units`` maps each accepted spelling to its factor; ``offsets`` to what is added after it (temperatures).
    ``ladder`` lists (from which SI magnitude on, the unit in which it is written), smallest first.
    """

    name: str
    si: str
    phrase: str
    example: str
    units: Mapping[str, str]
    ladder: tuple[tuple[str, str], ...]
    smallest: float
    largest: float
    offsets: Mapping[str, str] = field(default_factory=dict)
    lowest: float | None = None
    accuracy_example: str = ""

    @property
    def bare(self) -> str:
        """Return the unit that a bare number most likely lacks, never a kilo; "" where naming one would be a guess."""
        return _BARE.get(self.name, self.si.strip())


_BARE: Final = {
    "capacitance": "", "inductance": "", "length": "", "area": "", "pressure": "", "voltage slope": "",
    "rated voltage": "V AC", "temperature": "degC", "ratio": "%", "speed": "rpm", "angle": "deg", "wire diameter": "mm",
}


def awg_diameter(gauge: int) -> float:
    """Return the bare diameter of an American wire gauge [m]; 0000 is -3, 000 is -2, 00 is -1.

    ASTM B258: 36 gauge is 0.127 mm and 0000 gauge is 11.684 mm, with 39 equal ratios from one to the other.

    Examples
    --------
    >>> f"{awg_diameter(36):.6g} {awg_diameter(-3):.6g}"
    '0.000127 0.011684'
    """
    return float(0.127e-3 * 92 ** ((36 - gauge) / 39))


def _prefixed(base: str, prefixes: str) -> dict[str, str]:
    """Return base with each prefix; "_" in ``prefixes`` stands for none."""
    return {p.replace("_", "") + base: _PREFIX[p.replace("_", "")] for p in prefixes}


def _steps(base: str, prefixes: str) -> tuple[tuple[str, str], ...]:
    """Return a ladder on which each prefix begins at one of its unit; the first begins at zero."""
    rungs = [(_PREFIX[p.replace("_", "")], p.replace("_", "") + base) for p in prefixes]
    return (("0", rungs[0][1]), *rungs[1:])


_LENGTH: Final = {**_prefixed("m", "numc_k"), "in": "0.0254", "inch": "0.0254", "ft": "0.3048", "mil": "0.0000254"}
_WIRE: Final = {**_prefixed("m", "umc_"), "in": "0.0254", "inch": "0.0254", "mil": "0.0000254", "awg": "1"}
_AREA: Final = {"mm2": "1e-6", "cm2": "1e-4", "m2": "1", "in2": "0.00064516"}
_MASS: Final = {"mg": "1e-6", "g": "1e-3", "kg": "1", "t": "1e3", "lb": "0.45359237", "oz": "0.028349523125"}
_POWER: Final = {**_prefixed("W", "num_kM"), **_prefixed("VA", "m_kM"), **_prefixed("var", "m_kM")}
_PRESSURE: Final = {
    "Pa": "1", "hPa": "100", "kPa": "1e3", "mbar": "100", "bar": "1e5", "mmHg": "133.3224", "inHg": "3386.389",
}
_KELVIN: Final = {"K": "1", "degC": "1", "degF": "5/9"}
_TURN: Final = {"rpm": "1/60", "rev/s": "1", "Hz": "1"}
_ANGLE: Final = {"deg": "0.017453292519943295769", "rad": "1"}
_SLOPE: Final = {"V/s": "1", "V/ms": "1e3", "V/us": "1e6", "kV/us": "1e9", "V/ns": "1e9"}
_TIME: Final = {**_prefixed("s", "pnum_"), "min": "60", "h": "3600"}

_LENGTH_LADDER: Final = (("0", "um"), ("1e-4", "mm"), ("1", "m"), ("1e3", "km"))
_FARAD_LADDER: Final = (("0", "pF"), ("1e-9", "nF"), ("1e-6", "uF"), ("1e-2", "mF"), ("1", "F"))
_TIME_LADDER: Final = (("0", "ns"), ("1e-6", "us"), ("1e-3", "ms"), ("1", "s"), ("600", "min"), ("7200", "h"))
_SLOPE_LADDER: Final = (("0", "V/s"), ("1e4", "V/us"), ("1e9", "kV/us"))
_AREA_LADDER: Final = (("0", "mm2"), ("1e-4", "cm2"), ("1", "m2"))

# a blank behind the SI unit keeps a second dimension of the same unit apart in the table by SI unit
_ALL: Final = (
    Dimension("voltage", "V", "a voltage", "2.1 kV", _prefixed("V", "num_kM"), _steps("V", "num_kM"),
              1e-9, 1e7, accuracy_example="30 mV"),
    Dimension("rated voltage", "V ", "a rated voltage, AC or DC", "450 V AC", _prefixed("V", "_k"), _steps("V", "_k"),
              1e-3, 1e7),
    Dimension("current", "A", "a current", "30 mA", _prefixed("A", "num_k"), _steps("A", "num_k"),
              1e-12, 1e6, accuracy_example="10 mA"),
    Dimension("power", "W", "a power", "51 W", _POWER, _steps("W", "num_kM"), 1e-12, 1e8, accuracy_example="0.5 W"),
    Dimension("apparent power", "VA", "an apparent power", "800 VA", _POWER, _steps("VA", "m_kM"), 1e-12, 1e8),
    Dimension("reactive power", "var", "a reactive power", "1000 var", _POWER, _steps("var", "m_kM"), 1e-12, 1e8),
    Dimension("resistance", "ohm", "a resistance", "1.5 kohm", _prefixed("ohm", "num_kMGT"),
              _steps("ohm", "num_kMGT"), 1e-9, 1e16, accuracy_example="20 mohm"),
    Dimension("capacitance", "F", "a capacitance", "4.7 nF", _prefixed("F", "pnum_"), _FARAD_LADDER,
              1e-16, 100.0, accuracy_example="5 pF"),
    Dimension("inductance", "H", "an inductance", "25 mH", _prefixed("H", "pnum_k"), _steps("H", "num_"),
              1e-12, 1e5, accuracy_example="1 uH"),
    Dimension("length", "m", "a length", "12.5 cm", _LENGTH, _LENGTH_LADDER, 1e-9, 1e6, accuracy_example="0.1 mm"),
    Dimension("wire diameter", "m ", "a wire diameter", "0.4 mm", _WIRE, _LENGTH_LADDER, 1e-7, 10.0),
    Dimension("area", "m2", "an area", "12 cm2", _AREA, _AREA_LADDER, 1e-12, 1e4),
    Dimension("mass", "kg", "a mass", "4.5 kg", _MASS, (("0", "g"), ("1", "kg")), 1e-7, 1e5, accuracy_example="1 g"),
    Dimension("frequency", "Hz", "a frequency", "50 Hz", _prefixed("Hz", "m_kMG"), _steps("Hz", "m_kMG"),
              1e-6, 1e11, accuracy_example="10 Hz"),
    Dimension("time", "s", "a time", "60 s", _TIME, _TIME_LADDER, 1e-13, 1e8, accuracy_example="1 ms"),
    Dimension("temperature", "K ", "a temperature", "18 degC", _KELVIN, (("0", "degC"),), 0.0, 3000.0,
              offsets={"degC": "273.15", "degF": "45967/180"}, lowest=0.0, accuracy_example="2 degC"),
    Dimension("temperature rise", "K", "a temperature rise", "45 K", {"K": "1", "degC": "1"}, (("0", "K"),),
              1e-6, 3000.0, accuracy_example="2 K"),
    Dimension("pressure", "Pa", "a pressure", "990 hPa", _PRESSURE, (("0", "Pa"), ("100", "hPa")),
              1e-3, 1e8, accuracy_example="1 hPa"),
    Dimension("ratio", "%", "a share in per cent", "60 %", {"%": "0.01"}, (("0", "%"),), 1e-12, 1e6),
    Dimension("speed", "rev/s", "a speed of rotation", "3000 rpm", _TURN, (("0", "rpm"),), 1e-6, 1e5),
    Dimension("angle", "rad", "an angle", "20 deg", _ANGLE, (("0", "deg"),), 1e-9, 1e3),
    Dimension("voltage slope", "V/s", "a voltage slope", "50 V/us", _SLOPE, _SLOPE_LADDER, 1e-6, 1e15),
    Dimension("energy", "J", "an energy", "4 J", _prefixed("J", "num_kM"), _steps("J", "num_kM"), 1e-12, 1e9),
    Dimension("magnetic flux", "Wb", "a magnetic flux", "1 mWb", _prefixed("Wb", "num_"), _steps("Wb", "num_"),
              1e-12, 1e4),
    Dimension("flux density", "T", "a flux density", "1.2 T", _prefixed("T", "num_"), _steps("T", "um_"), 1e-12, 1e3),
    Dimension("charge", "C", "a charge", "2 mC", _prefixed("C", "pnum_"), _steps("C", "pnum_"), 1e-15, 1e6),
    Dimension("number", "1", "a number", "1.0", {"": "1"}, (("0", ""),), 0.0, 1e15),
)

DIMENSIONS: Final[Mapping[str, Dimension]] = {d.name: d for d in _ALL}
_BY_SI: Final[Mapping[str, Dimension]] = {d.si: d for d in _ALL}

#: What people write, in lower case, and the spelling it stands for.
SPELLINGS: Final[Mapping[str, str]] = {
    "volt": "V", "volts": "V", "kilovolt": "kV", "kilovolts": "kV", "vac": "V", "vdc": "V", "vrms": "V",
    "amp": "A", "amps": "A", "ampere": "A", "amperes": "A", "milliamp": "mA", "milliamps": "mA",
    "watt": "W", "watts": "W", "ohms": "ohm", "r": "ohm", "kohms": "kohm", "mfd": "uF", "uuf": "pF",
    "farad": "F", "microfarad": "uF", "nanofarad": "nF", "picofarad": "pF", "henry": "H",
    "c": "degC", "f": "degF", "celsius": "degC", "degreesc": "degC", "k": "K", "kelvin": "K",
    "degrees": "deg", "degree": "deg", "sec": "s", "secs": "s", "second": "s", "seconds": "s",
    "mins": "min", "minute": "min", "minutes": "min", "hr": "h", "hour": "h", "hours": "h",
    "inches": "in", "feet": "ft", "foot": "ft", '"': "in", "''": "in", "'": "ft", "thou": "mil",
    "metre": "m", "metres": "m", "meter": "m", "meters": "m", "micron": "um", "microns": "um",
    "lbs": "lb", "pound": "lb", "pounds": "lb", "kgs": "kg", "gram": "g", "grams": "g", "kilo": "kg",
    "cm^2": "cm2", "mm^2": "mm2", "m^2": "m2", "sqcm": "cm2", "sqmm": "mm2", "cps": "Hz", "hertz": "Hz",
    "percent": "%", "pc": "%", "rev/min": "rpm", "r/min": "rpm", "mb": "mbar", "ga": "awg", "gauge": "awg",
}


def dimension(name: str) -> Dimension:
    """Return the dimension of that name ("voltage") or SI unit ("V").

    Raises
    ------
    KeyError
        If there is none such.
    """
    found = DIMENSIONS.get(name) or _BY_SI.get(name)
    if found is None:
        raise KeyError(f"no dimension is called {name!r}")
    return found
