"""Electrical breakdown of air gaps, rotary gaps, and what the arc does to its electrodes (SI)."""
