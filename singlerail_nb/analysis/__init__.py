"""What a stage does: numbers, as arrays in SI units, from the circuit and its part values."""
