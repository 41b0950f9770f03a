"""Studies: what changes buy, from one factorisation."""
