"""Tests of the catalog: what its files hold, and how they are read."""

TAGS = ("published", "computed", "common practice", "from memory")
CARRIERS = ("water", "solvent", "spirit")
HARDENING = ("evaporation", "coalescence", "two-pack", "acid", "oxidation")
