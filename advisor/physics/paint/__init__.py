"""Equations of the paint: viscosity, cups, cure, build."""
