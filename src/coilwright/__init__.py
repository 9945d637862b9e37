"""coilwright: from a shelf of salvaged iron to a resonant transformer, with every number computed."""

__version__ = "0.1.0"
