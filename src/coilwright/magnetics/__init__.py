"""Nonlinear iron: current against flux linkage, and what a meter shows of it."""
