"""Constants of electromagnetism, for every package that computes with them (SI)."""

from __future__ import annotations

from math import pi

#: F/m, CODATA 2018; the 2022 value is 7e-10 of it higher.
EPSILON_0 = 8.8541878128e-12
#: 4 pi 1e-7 H/m; the value recommended since 2018 differs by 1e-10 of it.
MU_0 = 4e-7 * pi
