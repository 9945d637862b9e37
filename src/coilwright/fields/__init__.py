"""Fields of axisymmetric coil sets: inductance, capacitance, resonance and losses, turn by turn (SI)."""
