"""The supply as one nonlinear network, solved by harmonic balance."""
