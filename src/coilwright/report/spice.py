"""A network as a netlist for ngspice: the same elements, the same iron law, integrated in time.

The netlist runs unchanged with ``ngspice -b FILE``. Each iron path integrates its own voltage on a 1 F capacitor, in
units of its knee flux; the source is raised over some cycles so that no steady flux is left over from switching on.
"""

from __future__ import annotations

import re
import textwrap
from math import atan2, pi

from coilwright.supply.network import EARTH, Network

_HEAD = """* {title}
* Written by coilwright {version}.
* Model limits: no hysteresis, no direct-current component, no winding resonance, no arcs.
* The machine that this describes can kill. Local code and licensed practice decide what may be built and connected.
"""


class _Names:
    """Gives every node and element a short name that the simulator takes; keeps them distinct."""

    def __init__(self) -> None:
        self.taken: dict[str, str] = {}
        self.used: set[str] = set()

    def __call__(self, name: str) -> str:
        if name == EARTH:
            return "0"
        if name not in self.taken:
            base = re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_") or "n"
            short, k = base, 2
            while short in self.used or short == "0":
                short, k = f"{base}_{k}", k + 1
            self.used.add(short)
            self.taken[name] = short
        return self.taken[name]


def netlist(
    network: Network,
    *,
    title: str = "supply",
    version: str = "",
    cycles: int = 80,
    ramp_cycles: int = 30,
    steps_per_cycle: int = 2000,
    measure: tuple[str, ...] = (),
    notes: tuple[str, ...] = (),
) -> str:
    """Return the netlist text.

    It is run for ``cycles`` mains cycles, the sources raised over the first ``ramp_cycles``; the last cycle is
    measured: rms of the output as ``v_out``, its peak as ``v_out_peak``, the current of each source as ``i_<name>``,
    and of each branch or winding in ``measure``. ``notes`` are comments at its head.
    """
    node, out = _Names(), [_HEAD.format(title=re.sub(r"[\r\n]+", " ", title), version=version).rstrip()]
    out += [f"* {line}" for note in notes for line in textwrap.wrap(re.sub(r"\s+", " ", note), 110)]
    names = _Names()
    f = network.frequency
    out += [f"* {original} -> {node(original)}" for original in network.nodes()]
    for s in network.sources:
        n, inner, mid = names(s.name), node(f"{s.name} emf"), node(f"{s.name} sense")
        ramp = f"min(1, time*{f / max(ramp_cycles, 1e-9):.12g})" if ramp_cycles else "1"
        phase = atan2(s.peak.imag, s.peak.real)
        out.append(
            f"B_{n} {inner} {node(s.b)} V = {abs(s.peak):.12g}*{ramp}*cos({2 * pi * f:.15g}*time+({phase:.12g}))"
        )
        out.append(f"V_{n} {inner} {mid} 0")
        out += _series(n, mid, node(s.a), s.resistance, s.inductance, node)
    for b in network.branches:
        n = names(b.name)
        if not (b.resistance or b.inductance):
            out.append(f"V_{n} {node(b.a)} {node(b.b)} 0")
            continue
        mid = node(f"{b.name} sense")
        out.append(f"V_{n} {node(b.a)} {mid} 0")
        out += _series(n, mid, node(b.b), b.resistance, b.inductance, node)
    for w in network.windings:
        n, mid, emf = names(w.name), node(f"{w.name} sense"), node(f"{w.name} emf")
        out.append(f"V_{n} {node(w.a)} {mid} 0")
        out += _series(n, mid, emf, w.resistance, w.inductance, node)
        out.append(f"E_{n} {emf} {node(w.b)} {node(w.c)} {node(w.d)} {w.ratio:.12g}")
        out.append(f"F_{n} {node(w.d)} {node(w.c)} V_{n} {w.ratio:.12g}")
    out += [f"R_{names(r.name)} {node(r.a)} {node(r.b)} {r.resistance:.12g}" for r in network.conductances]
    out += [f"C_{names(c.name)} {node(c.a)} {node(c.b)} {c.capacitance:.12g}" for c in network.capacitances]
    for p in network.ports:
        n, lam, iron = names(p.name), node(f"{p.name} flux"), p.iron
        across = _difference(node(p.a), node(p.b))
        out.append(f"B_{n}_v 0 {lam} I = ({across})/{iron.knee_flux:.12g}")
        out += [f"C_{n}_lam {lam} 0 1 IC=0", f"R_{n}_lam {lam} 0 1e9"]
        out.append(
            f"B_{n} {node(p.a)} {node(p.b)} I = {iron.knee_flux / iron.inductance:.12g}*v({lam})"
            f" + {iron.knee_current:.12g}*v({lam})*pow(abs(v({lam})), {iron.exponent - 1})"
        )
    out += _analysis(network, node, names, cycles, steps_per_cycle, measure)
    return "\n".join(out) + "\n"


def _series(name: str, a: str, b: str, resistance: float, inductance: float, node: _Names) -> list[str]:
    if resistance and inductance:
        mid = node(f"{name} series")
        return [f"R_{name} {a} {mid} {resistance:.12g}", f"L_{name} {mid} {b} {inductance:.12g} IC=0"]
    if inductance:
        return [f"L_{name} {a} {b} {inductance:.12g} IC=0"]
    return [f"R_{name} {a} {b} {max(resistance, 1e-6):.12g}"]


def _difference(a: str, b: str) -> str:
    return f"v({a})" if b == "0" else f"-v({b})" if a == "0" else f"v({a})-v({b})"


def _analysis(
    network: Network, node: _Names, names: _Names, cycles: int, steps: int, measure: tuple[str, ...]
) -> list[str]:
    period = 1 / network.frequency
    window = f"from={(cycles - 1) * period:.12g} to={cycles * period:.12g}"
    out = [".options reltol=1e-5 abstol=1e-9 vntol=1e-6 method=trap maxord=2 itl4=200"]
    if network.output is not None:
        a, b = (node(n) for n in network.output)
        out += [
            f"E_out out_volts 0 {a} {b} 1",
            "R_out out_volts 0 1e6",
            f".meas tran v_out RMS v(out_volts) {window}",
            f".meas tran v_out_max MAX v(out_volts) {window}",
            f".meas tran v_out_min MIN v(out_volts) {window}",
        ]
    for wanted in (*(s.name for s in network.sources), *measure):
        out.append(f".meas tran i_{names(wanted)} RMS i(v_{names(wanted)}) {window}")
    step = period / steps
    out += [f".tran {step:.12g} {cycles * period:.12g} {(cycles - 1) * period:.12g} {step:.12g} uic", ".end"]
    return out
