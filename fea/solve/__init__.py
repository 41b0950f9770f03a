"""Assembly, constraints, factorisation."""
