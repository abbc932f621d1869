"""Equations: plain functions of floats or arrays; no file, no clock, no settings."""
