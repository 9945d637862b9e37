"""Whether a spinning disc holds: stress of disc and fixings, burst, what flies off, and what stops it.

Elastic stress of a flat disc of one thickness: S. P. Timoshenko and J. N. Goodier, Theory of Elasticity, "Rotating
disks"; R. G. Budynas and J. K. Nisbett, Shigley's Mechanical Engineering Design, "Stresses in rotating rings" (both
from memory, tested against the differential equation). Speeds are in rev/s, stresses in Pa.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sin, sqrt
from types import MappingProxyType


@dataclass(frozen=True)
class DiscMaterial:
    """Density [kg/m3], Poisson's ratio, and the strength that counts [Pa]: yield of a metal, break of the rest.

    ``strength_low`` is what is designed on. ``tip_speed`` [m/s] is the most that is taken for this material whatever
    the stress says, None where stress alone judges it, 0 where the material is not taken at all. ``words`` say what it
    does when it fails.
    """

    name: str
    density: float
    poisson: float
    strength_low: float
    strength_high: float
    tip_speed: float | None
    words: str


#: Handbook values, all from memory. Strengths of glass-epoxy: grade G-10 of NEMA LI 1, crosswise to lengthwise; of
#: plastics: makers' sheets. The tip speed of laminates is that of reinforced resin-bonded grinding wheels, 80 m/s, and
#: of plain plastics that of unreinforced ones, 35 m/s (EN 12413, from memory); for plastics as such none was found.
DISC_MATERIALS: MappingProxyType[str, DiscMaterial] = MappingProxyType(
    {
        m.name: m
        for m in (
            DiscMaterial("glass-epoxy", 1850.0, 0.15, 200e6, 310e6, 80.0, "splits in layers, warns little"),
            DiscMaterial("phenolic", 1350.0, 0.30, 55e6, 100e6, 50.0, "breaks into large pieces; chars where it arcs"),
            DiscMaterial(
                "aluminium", 2700.0, 0.33, 90e6, 276e6, None, "stretches first; it conducts, so every pin needs a bush"
            ),
            DiscMaterial("steel", 7850.0, 0.29, 235e6, 355e6, None, "stretches first; it conducts"),
            DiscMaterial(
                "polycarbonate", 1200.0, 0.37, 55e6, 70e6, 35.0, "creeps when warm, crazes where it was oiled"
            ),
            DiscMaterial("acrylic", 1190.0, 0.37, 15e6, 75e6, 0.0, "shatters without warning from a hole's edge"),
        )
    }
)

#: Strength over stress that is asked for at the highest speed the motor can reach: our rule, no source found. At 1.2
#: times that speed 2.8 is left.
REQUIRED_FACTOR = 4.0
SPIN_TEST_RATIO = 1.2
#: Pitch of coarse metric threads [m] (ISO 261, from memory).
COARSE_PITCH = {3e-3: 0.5e-3, 4e-3: 0.7e-3, 5e-3: 0.8e-3, 6e-3: 1e-3, 8e-3: 1.25e-3, 10e-3: 1.5e-3, 12e-3: 1.75e-3}
#: Yield of the plainest steel bolt, property class 4.6 (ISO 898-1, from memory) [Pa]; no better one is assumed.
BOLT_YIELD = 240e6
SHEAR_OF_YIELD = 1 / sqrt(3)  # von Mises
#: Tension beside a pin-loaded hole over the bearing stress F / (d t), wide plate (Peterson's Stress Concentration
#: Factors, from memory).
PIN_HOLE_FACTOR = 1.25


@dataclass(frozen=True)
class Rotor:
    """The spinning part, lengths in m, ``electrode_mass`` [kg] of one pin with its nuts. ``bore`` 0: no hole."""

    material: DiscMaterial
    diameter: float
    thickness: float
    bore: float
    aim_radius: float
    electrodes: int
    electrode_mass: float
    electrode_diameter: float

    def __post_init__(self) -> None:
        if self.thickness <= 0 or self.electrode_diameter <= 0:
            raise ValueError("thickness of the disc and diameter of the electrodes must be positive")
        if not 0 <= self.bore < self.diameter:
            raise ValueError(f"the bore of {self.bore} m must be smaller than the disc of {self.diameter} m")
        if self.aim_radius + self.electrode_diameter / 2 >= self.diameter / 2:
            raise ValueError("the electrodes' holes must lie inside the rim of the disc")
        if self.aim_radius - self.electrode_diameter / 2 <= self.bore / 2:
            raise ValueError("the electrodes' holes must lie outside the bore")

    @property
    def rim(self) -> float:
        return self.diameter / 2

    @property
    def disc_mass(self) -> float:
        """Return the disc's mass [kg], its small holes counted as full."""
        return self.material.density * self.thickness * pi * (self.rim**2 - self.bore**2 / 4)


def ring_stress(
    radius: float, bore_radius: float, rim_radius: float, density: float, poisson: float, speed: float
) -> tuple[float, float]:
    """Return radial and hoop stress [Pa] at ``radius`` of a spinning disc that is free at its edges.

    Lengths in m; ``bore_radius`` 0 is a disc without a hole, whose hoop stress at the centre is half that of one with
    the smallest of holes.
    """
    k = density * (2 * pi * speed) ** 2 * (3 + poisson) / 8
    a2, b2, r2 = bore_radius**2, rim_radius**2, radius**2
    turned = 0.0 if a2 == 0 else a2 * b2 / r2
    return k * (a2 + b2 - turned - r2), k * (a2 + b2 + turned - (1 + 3 * poisson) / (3 + poisson) * r2)


@dataclass(frozen=True)
class DiscStress:
    """Stresses of the disc [Pa], each the highest of its kind.

    ``centre``: hoop stress at the bore (or the middle), the pins' pull included as if nothing outside their circle
    helped. ``hole``: beside an electrode's hole, the disc's own stress tripled by the hole and the pin's pull on top.
    ``tear_out``: twice the shear of the two planes through which a pin would leave the rim, to be held against the
    same strength. ``mean``: hoop stress averaged over a cut through the middle.
    """

    centre: float
    hole: float
    tear_out: float
    mean: float

    @property
    def worst(self) -> float:
        return max(self.centre, self.hole, self.tear_out)

    @property
    def place(self) -> str:
        """Return where the worst stands."""
        named = {"bore": self.centre, "electrode's hole": self.hole, "rim outside an electrode": self.tear_out}
        return max(named, key=lambda k: named[k])


def disc_stress(rotor: Rotor, speed: float) -> DiscStress:
    """Return the stresses of the disc at ``speed`` [rev/s]; every one of them grows with its square.

    Hole in a field of two stresses: 3 x the larger - the smaller (G. Kirsch 1898); adding the pin's tension, which
    stands elsewhere on the hole's edge, is on the cautious side.
    """
    m, r, a, b, t = rotor.material, rotor.aim_radius, rotor.bore / 2, rotor.rim, rotor.thickness
    force = rotor.electrode_mass * r * (2 * pi * speed) ** 2
    spread = rotor.electrodes * force / (2 * pi * r * t)  # the pins' pull smeared over their circle
    own = ring_stress(a, a, b, m.density, m.poisson, speed)[1]
    lame = 2 * r**2 / (r**2 - a**2) if a > 0 else 1.0
    radial, hoop = ring_stress(r, a, b, m.density, m.poisson, speed)
    d = rotor.electrode_diameter
    edge = b - r - d / 2
    mean_own = m.density * (2 * pi * speed) ** 2 * (b**3 - a**3) / (3 * (b - a))
    mean_pins = rotor.electrodes * force / pi / (2 * t * (b - a))
    return DiscStress(
        centre=own + lame * spread,
        hole=max(3 * hoop - radial, 3 * radial - hoop) + PIN_HOLE_FACTOR * force / (d * t),
        tear_out=2 * force / (2 * t * edge),
        mean=mean_own + mean_pins,
    )


def burst_speed(rotor: Rotor) -> tuple[float, float, float]:
    """Return the speed at which the disc would burst: value, lowest, highest [rev/s].

    Lowest: the worst elastic stress reaches the lower strength, as in a brittle disc. Highest: the mean hoop stress
    reaches the higher strength, as in one that stretches (E. L. Robinson, Trans. ASME 66 (1944) 373, from memory).
    The value lies in the middle of the two by ratio. No balance, age or flaw is in it.
    """
    at_one = disc_stress(rotor, 1.0)
    low = sqrt(rotor.material.strength_low / at_one.worst)
    high = max(sqrt(rotor.material.strength_high / at_one.mean), low)
    return sqrt(low * high), low, high


def thread_stress_area(diameter: float) -> float:
    """Return the tensile stress area of a metric bolt [m2]: pi / 4 (d - 0.9382 p)^2 of ISO 898-1.

    A diameter without a coarse pitch in the table is taken with one of 0.2 d, coarser than any.

    Examples
    --------
    >>> print(f"{thread_stress_area(6e-3) * 1e6:.1f} mm2")
    20.1 mm2
    """
    if diameter <= 0:
        raise ValueError(f"a bolt's diameter must be positive: got {diameter} m")
    named = [p for d, p in COARSE_PITCH.items() if abs(d - diameter) < 1e-6]
    pitch = named[0] if named else 0.2 * diameter
    return pi / 4 * (diameter - 0.9382 * pitch) ** 2


def bolt_stress(force: float, diameter: float) -> float:
    """Return what one bolt must stand as tension [Pa] to hold ``force`` [N] across its threads.

    The pull is taken as single shear through the threads, and turned into the tension that is as bad (von Mises), so
    that it also covers a bolt along the radius, which is in tension.
    """
    return force / thread_stress_area(diameter) / SHEAR_OF_YIELD


# ---- what flies off --------------------------------------------------------------------------------------------------


def electrode_energy(mass: float, radius: float, speed: float) -> float:
    """Return the energy of one electrode that comes off [J]."""
    return mass * (2 * pi * radius * speed) ** 2 / 2


def rotor_energy(rotor: Rotor, speed: float) -> float:
    """Return the energy of the whole rotor [J], electrodes as points on their circle."""
    disc = rotor.disc_mass * (rotor.rim**2 + rotor.bore**2 / 4) / 2
    return (disc + rotor.electrodes * rotor.electrode_mass * rotor.aim_radius**2) * (2 * pi * speed) ** 2 / 2


def third_energy(rotor: Rotor, speed: float) -> float:
    """Return the energy with which one third of the burst rotor flies off straight [J].

    A sector of 120 degrees carries the most straight-line energy but for half a disc, and is what is usually taken.
    """
    a, b, half = rotor.bore / 2, rotor.rim, pi / 3
    centre = 2 * sin(half) / (3 * half) * (b**3 - a**3) / (b**2 - a**2)
    pins = rotor.electrodes * rotor.electrode_mass / 3
    disc = rotor.disc_mass / 3
    pin_centre = rotor.aim_radius * sin(half) / half
    momentum = (disc * centre + pins * pin_centre) * 2 * pi * speed
    return momentum**2 / (2 * (disc + pins))


#: How much thicker than steel a shield of another material must be, and the band: weight for weight for aluminium;
#: polycarbonate from guard tables of machine tools (ISO 23125 and EN 12415, from memory). None: it does not serve.
SHIELD_RATIO: MappingProxyType[str, tuple[float, float, float] | None] = MappingProxyType(
    {"steel": (1.0, 1.0, 1.0), "aluminium": (2.5, 2.0, 3.0), "polycarbonate": (4.5, 3.0, 6.0), "acrylic": None}
)
#: Design thickness over the one that is just perforated (Bechtel BC-TOP-9A, from memory), and the least that is taken
#: whatever the formula says (our rule) [m of steel].
SHIELD_MARGIN = 1.25
LEAST_STEEL = 1.5e-3
_FOOT_POUND, _INCH = 1.3558179483314004, 0.0254


def perforated_steel(energy: float, diameter: float) -> float:
    """Return the thickness of mild steel that a blunt steel body of this energy [J] and diameter [m] just perforates.

    Ballistic Research Laboratory formula T = E^(2/3) / (672 D) in foot-pounds and inches (from memory; a factor of 2
    either way). It was fitted to heavier bodies than an electrode: below a tenth of the diameter it is stretched.

    Examples
    --------
    >>> print(f"{perforated_steel(15.8, 8e-3) * 1e3:.2f} mm")
    0.62 mm
    """
    if energy < 0 or diameter <= 0:
        raise ValueError(f"energy and diameter must be positive: got {energy} J, {diameter} m")
    return float(_INCH * (energy / _FOOT_POUND) ** (2 / 3) / (672 * diameter / _INCH))


def shield_thickness(rotor: Rotor, speed: float, material: str) -> tuple[float, float, float] | None:
    """Return the thickness of a shield all round [m]: value, lowest, highest; None for a material that does not serve.

    For the worse of one electrode end on and one third of the disc edge on, at ``speed`` [rev/s].

    Raises
    ------
    ValueError
        If no such shield material is known.
    """
    if material not in SHIELD_RATIO:
        raise ValueError(f"no shield of {material} is known")
    ratio = SHIELD_RATIO[material]
    if ratio is None:
        return None
    pin = perforated_steel(electrode_energy(rotor.electrode_mass, rotor.aim_radius, speed), rotor.electrode_diameter)
    # the edge of a third of the disc, as a round body of the same outline
    edge = 2 * (rotor.thickness + rotor.rim) / pi
    steel = SHIELD_MARGIN * max(pin, perforated_steel(third_energy(rotor, speed), edge))
    usual, low, high = (max(LEAST_STEEL, steel * s) * k for s, k in zip((1.0, 0.5, 2.0), ratio, strict=True))
    return usual, low, high


__all__ = [
    "BOLT_YIELD",
    "DISC_MATERIALS",
    "REQUIRED_FACTOR",
    "SHIELD_RATIO",
    "SPIN_TEST_RATIO",
    "DiscMaterial",
    "DiscStress",
    "Rotor",
    "bolt_stress",
    "burst_speed",
    "disc_stress",
    "electrode_energy",
    "perforated_steel",
    "ring_stress",
    "rotor_energy",
    "shield_thickness",
    "third_energy",
    "thread_stress_area",
]
