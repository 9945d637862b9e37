"""Tank capacitors: film strings, home-made plates, what charges them and what they stand (SI)."""
