"""From name plates and bench readings to equivalent circuits with uncertainty."""
