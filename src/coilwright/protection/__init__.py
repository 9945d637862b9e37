"""Hazards as values: the tag catalogue and the rules that raise tags."""
