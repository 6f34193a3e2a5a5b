"""Gauging: readings of instruments in, what is there out; calibration tables, slips, evaporation. Pure."""
