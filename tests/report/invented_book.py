"""Invented results for the tests of book and plots: every number here is made up, none is computed."""

from __future__ import annotations

from dataclasses import replace

from coilwright.analyses.results import (
    CoreStress,
    Correction,
    EndStress,
    GapMissing,
    GapMissingPoint,
    Heat,
    Inrush,
    JointClearance,
    JointStress,
    NextReading,
    OperatingPoint,
    PartResult,
    PlanResult,
    RankedRow,
    RefusedRow,
    ShelfResult,
    SteadyState,
    SupplyResult,
    WindingStress,
)
from coilwright.measurement.findings import Finding
from coilwright.model.design import Arrangement, Design
from coilwright.model.known import Estimate, Known
from coilwright.model.parts import Accuracy, Capacitor, Choke, Instrument, Transformer
from coilwright.model.site import Air, Breaker, Room, Site
from coilwright.protection.tag import Tag

PAIR = Arrangement(
    name="pair, midpoint earthed",
    joints={
        "live": ("mains.line", "K1.a", "P1.a"),
        "fed": ("K1.b", "U1.primary_start", "U2.primary_finish"),
        "return": ("mains.neutral", "P1.b", "U1.primary_finish", "U2.primary_start"),
        "ground": ("mains.earth", "U1.core", "U2.core"),
        "hot_a": ("U1.high_start",),
        "hot_b": ("U2.high_start",),
    },
    output=("hot_a", "hot_b"),
    reversed=("U2.primary",),
)


def design(**changes: object) -> Design:
    """Return the invented project; ``changes`` replace its fields."""
    site = Site(
        mains_voltage=Known(230.0),
        frequency=Known(50.0),
        mains_resistance=Known(0.35, "pencil"),
        mains_inductance=Known(2e-4, "pencil"),
        breaker=Known(Breaker(16.0, "B")),
        rcd=Known(0.03),
        system=Known("line and neutral"),
        earthing=Known("TN"),
        plug=Known("fixed wiring"),
        altitude=Known(120.0),
        air=Air(Known(289.0), None, Known(0.65)),
        room=Room(),
    )
    base = Design(
        name="Barn bench",
        site=site,
        notes="Demonstration. Invented numbers.",
        instruments=(
            Instrument("clip meter", {"voltage": Accuracy(0.01), "resistance": Accuracy(0.01)}, "true rms", 600.0),
            Instrument(
                "socket meter",
                {"voltage": Accuracy(0.01), "current": Accuracy(0.015), "power": Accuracy(0.03)},
                "true rms",
                250.0,
            ),
        ),
        transformers=(
            Transformer("U1", "oven", mass=Known(5.0)),
            Transformer("U2", "oven", notes="dent in the left limb"),
            Transformer("U3", "sign"),
        ),
        chokes=(Choke("K1"),),
        capacitors=(Capacitor("P1", Known(40e-6), use="power factor", count=2),),
        arrangements=(PAIR,),
        use_arrangement=PAIR.name,
        digest="5f1c0a9be7724d10aa",
    )
    return replace(base, **changes)  # type: ignore[arg-type]


def tag(
    id: str,
    grade: str,
    *,
    standing: bool = False,
    where: str = "",
    value: str | None = None,
    limit: str = "-",
    answered: str | None = None,
) -> Tag:
    """Return a tag whose words contain its id, so that a test can find them on the page."""
    return Tag(
        id,
        grade,
        standing,
        where,
        f"What of {id}.",
        f"Why of {id}, said in one line that is long enough to need a second one "  # type: ignore[arg-type]
        "on paper, as most of them do.",
        value,
        limit,
        f"Way out of {id}.",
        f"source of {id}, table 3",
        answered,
        number=1.0,  # of two tags of one rule at one place, the one with a number is kept
    )


TAGS = (
    tag("wiring-current", "CAUTION", value="7.31 A", limit="16 A breaker, 10 A plug"),
    tag("supply-kills", "STOP", standing=True, value="512 mA", limit="5 mA"),
    tag("tank-overvolt-gap-missing", "STOP", where="U1.high", value="4.44 kV peak", limit="3.10 kV peak"),
    tag("isolate-drain-short", "STOP", standing=True),
    tag("local-code", "NOTE", standing=True),
    tag("breaker-inrush", "NOTE", value="88 A", limit="48 to 80 A"),
    tag("safety-gap-missing", "STOP", answered="Will be fitted with the tank."),
    tag("rcd-blind", "CAUTION", standing=True, value="0.1 mA", limit="30 mA"),
    tag("not-alone", "CAUTION", standing=True),
)


def point(
    load: float | None, voltage: float, current: float, mains: float, power_factor: float = 0.9
) -> OperatingPoint:
    """Return an operating point with invented mains figures."""
    return OperatingPoint(
        load_resistance=load,
        voltage=voltage,
        voltage_peak=voltage * 1.46,
        current=current,
        power=voltage * current,
        mains_current=mains,
        mains_current_peak=mains * 1.6,
        mains_power=voltage * current + 60.0,
        apparent_power=230.0 * mains,
        power_factor=power_factor,
        reactive_power=-120.5,
        mains_harmonics={1: mains * 0.98, 3: mains * 0.11, 5: 0.031},
        residual_current=1.3e-4,
        mains_current_uncorrected=mains * 1.7,
    )


def supply(**changes: object) -> SupplyResult:
    """Return the invented supply; ``changes`` replace its fields."""
    opened, best, shorted = (
        point(None, 3480.0, 0.0, 2.61, 0.13),
        point(9100.0, 2290.0, 0.2516, 3.33, 0.981),
        point(0.0, 0.0, 0.397, 3.62, 0.4),
    )
    droop = (
        opened,
        point(60e3, 3320.0, 0.0553, 2.7),
        point(24e3, 2990.0, 0.1246, 2.9),
        best,
        point(5e3, 1550.0, 0.31, 3.5),
        point(2e3, 735.0, 0.3675, 3.58),
        shorted,
    )
    tank = [
        (1.1e-8, 5300.0),
        (2.4e-8, 6100.0),
        (4.0e-8, 9900.0),
        (6.5e-8, 7800.0),
        (1.2e-7, 6900.0),
        (3.0e-7, 8300.0),
        (6.5e-7, 3300.0),
    ]
    scan = tuple(
        GapMissingPoint(c, v, {"hot_a": v * 0.52, "hot_b": v * 0.5}, states=(v, v * 0.6) if c == 4.0e-8 else (v,))
        for c, v in tank
    )
    lost = GapMissingPoint(4.4e-7, float("nan"), {}, exact=False)
    own = GapMissingPoint(5e-8, 9720.0, {"hot_a": 4930.0, "hot_b": 4790.0}, states=(9720.0,))
    end_hot, end_cold = EndStress(1740.0, 2540.0, 1742.0, 2543.0), EndStress(0.4, 0.6, 0.2, 0.3)
    base = SupplyResult(
        name=PAIR.name,
        open_circuit=opened,
        short_circuit=shorted,
        best_power=best,
        droop=droop,
        states=(SteadyState(3480.0, 5080.0, 2.61),),
        cores={
            "U1": CoreStress(0.3, 0.4, 229.0, 1745.0, 253.0, "pencil"),
            "U2": CoreStress(0.3, 0.4, 230.5, 1746.0, 253.0, "ink"),
        },
        windings={
            "U1.high": WindingStress(end_hot, end_cold, 2310.0, 0.0, "pencil", "finish"),
            "U2.high": WindingStress(end_hot, end_cold, 1600.0, 0.0, "stamped", "finish"),
        },
        joints={
            "live": JointStress(230.0, 325.0, high=False),
            "ground": JointStress(0.3, 0.4, high=False),
            "hot_a": JointStress(1740.0, 2540.0, high=True),
            "hot_b": JointStress(1738.0, 2538.0, high=True),
        },
        heat={
            "U1": Heat(
                72.0,
                140.0,
                Estimate(61.0, 44.0, 83.0, "pencil", "K"),
                Estimate(540.0, 300.0, 900.0, "pencil", "s"),
                0.22,
                "mass given",
            ),
            "K1": Heat(31.0, 66.0, basis="no mass given"),
        },
        correction=Correction(40e-6, 62e-6, 2.61, 0.13, idle_leading=True, closing_peak=131.0),
        inrush=Inrush(88.0, 5.2, 48.0, 80.0, may_trip=True),
        clearances=(
            JointClearance("hot_a", 4930.0, 0.0151, 0.0552, "rod to plane, first standard", 1.5),
            JointClearance("hot_b", 4790.0, 0.0147, 0.0537, "rod to plane, first standard", 1.5),
            JointClearance("live", 325.0, 0.003, 0.0041, "mains floor, second standard", 1.0),
        ),
        gap_missing=GapMissing(3.6e-7, (*scan, lost), own, 3100.0, "U1.high", "pencil", worst=scan[2]),
        mains_current_uncorrected=7.31,
        bands={
            "open_circuit.voltage": (3401.0, 3562.0),
            "short_circuit.current": (0.381, 0.414),
            "open_circuit.mains_current": (2.4, 2.85),
        },
        marks={
            "open_circuit": "stamped",
            "short_circuit.current": "stamped",
            "gap_missing": "pencil",
            "mains_current_uncorrected": "ink",
        },
        tags=TAGS,
        fast_error=0.034,
        notes=("Windings are lumped: nothing here is right above a few kilohertz.",),
    )
    return replace(base, **changes)  # type: ignore[arg-type]


def shelf() -> ShelfResult:
    """Return the invented shelf."""

    def core(ratio: float) -> dict[str, Estimate]:
        return {
            "ratio": Estimate(ratio, ratio * 0.99, ratio * 1.01, "stamped", "1", "both directions"),
            "primary_resistance": Estimate(0.81, 0.79, 0.83, "ink", "ohm", "as written"),
            "secondary_resistance": Estimate(91.0, 89.0, 93.0, "ink", "ohm", "as written"),
            "leakage_inductance": Estimate(0.0445, 0.037, 0.053, "pencil", "H", "two low-voltage shorts"),
        }

    parts = {
        "U1": PartResult("U1", "oven", core(9.51)),
        "U2": PartResult("U2", "oven", core(9.63)),
        "U3": PartResult(
            "U3",
            "sign",
            {"ratio": Estimate(36.0, 30.0, 42.0, "pencil", "1", "plate")},
            (
                Finding(
                    "power-above-va",
                    "STOP",
                    "transformer[2].short_test[0].power",
                    "148 W against 74 VA cannot be.",
                    "Was it 14.8 W?",
                ),
            ),
            usable=False,
            why_not="its short test cannot be right",
        ),
        "K1": PartResult(
            "K1",
            "choke",
            {"inductance": Estimate(0.0689, 0.066, 0.072, "ink", "H", "three readings")},
            (Finding("averaging", "CAUTION", "choke[0].test[1]", "Read with an averaging meter above the knee."),),
        ),
        "P1": PartResult("P1", "capacitor", {"capacitance": Estimate(40e-6, 38e-6, 42e-6, "ink", "F", "as marked")}),
    }
    following = (
        NextReading(
            "U1",
            "Short test at 6.9 A",
            "socket meter",
            1,
            "mains side only",
            "short current",
            (0.35, 0.45),
            (0.381, 0.414),
            "Bolt the high end to the core.",
        ),
    )
    return ShelfResult(parts, following, (tag("oven-scavenge", "STOP", standing=True),))


def plan() -> PlanResult:
    """Return the invented plan."""
    ranked = (
        RankedRow(
            PAIR.name,
            0.31,
            3480.0,
            0.397,
            7.31,
            3.62,
            1382.0,
            0.981,
            ("U1", "U2", "K1"),
            {"U1": 0.3},
            ("nearest to the wanted power",),
            twins=("the same with U2 first",),
            arrangement_index=0,
        ),
        RankedRow(
            "U1 alone behind K1",
            0.72,
            1740.0,
            0.51,
            5.1,
            3.0,
            887.0,
            0.93,
            ("U1", "K1"),
            {"U1": 0.2},
            ("below the window",),
        ),
    )
    refused = (
        RefusedRow(
            "mains in series",
            ("A mains pole would be part of the high-voltage circuit.",),
            ("s1", "s2", "s3"),
            "mains-in-series",
        ),
        RefusedRow(
            "lifted stack",
            ("The inner end has 0 V of insulation on pencil.", "No proof test is stamped."),
            (),
            "inner-end-lifted",
        ),
    )
    return PlanResult(ranked, refused, (PAIR,), considered=41, seconds=0.2, tags=(TAGS[1],))


WIRING = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 300 160" width="300" height="160"
 font-family="B612, sans-serif">
<rect x="20" y="20" width="60" height="110" fill="none" stroke="black" stroke-width="1"/>
<path d="M 80 40 H 210 M 80 110 H 210" stroke="black" fill="none" stroke-width="2"/>
<circle cx="92" cy="34" r="3"/>
<text x="215" y="44" font-size="9">hot_a</text><text x="215" y="114" font-size="9">hot_b</text>
</svg>"""
