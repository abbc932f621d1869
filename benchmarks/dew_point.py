"""A year of minutes through `dew_point` in one call, beside the libraries that could do it; ratios in one run.

    .venv/bin/python benchmarks/dew_point.py

psychrolib differs where it gives a frost point (dew below 0 °C); MetPy by its closed form. Makes its own environment in
.bench-venv, because numba, once importable, changes what psychrolib does at import.
"""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
ENVIRONMENT = ROOT / ".bench-venv"
MINUTES = 525_600
REPEATS = 9


def prepare() -> Path:
    """The interpreter of an environment with numba, psychrolib and MetPy."""
    python = ENVIRONMENT / "bin" / "python"
    if not python.exists():
        subprocess.run([sys.executable, "-m", "venv", str(ENVIRONMENT)], check=True)
    subprocess.run(
        [str(python), "-m", "pip", "install", "-q", "numba", "psychrolib", "metpy", "-e", str(ROOT)],
        check=True,
        stderr=subprocess.DEVNULL,
    )
    return python


def measure() -> None:
    """Run inside that environment."""
    from timeit import repeat  # noqa: PLC0415 - libraries of the benchmark's own environment

    import numpy as np  # noqa: PLC0415
    import psychrolib  # noqa: PLC0415
    from metpy.calc import dewpoint_from_relative_humidity  # noqa: PLC0415
    from metpy.units import units  # noqa: PLC0415

    from advisor.physics.air.moist_air import dew_point  # noqa: PLC0415

    psychrolib.SetUnitSystem(psychrolib.SI)
    rng = np.random.default_rng(365)
    air, humidity = rng.uniform(2.0, 35.0, MINUTES), rng.uniform(0.35, 1.0, MINUTES)
    quantities = air * units.degC, humidity * units.dimensionless
    calls = {
        "advisor": lambda: dew_point(air, humidity),
        "psychrolib with numba": lambda: psychrolib.GetTDewPointFromRelHum(air, humidity),
        "MetPy closed form": lambda: dewpoint_from_relative_humidity(*quantities),
    }
    for call in calls.values():
        call()  # compile and warm up
    # one after the other within each round, so that a busy machine slows all alike
    rounds = [{name: repeat(call, number=1, repeat=1)[0] for name, call in calls.items()} for _ in range(REPEATS)]
    best = {name: min(entry[name] for entry in rounds) for name in calls}
    ours = np.asarray(calls["advisor"]())
    for name, call in calls.items():
        other = np.asarray(getattr(call(), "magnitude", call()))
        off = np.abs(other - ours).max()
        print(f"{name:<22} {best[name] * 1e3:8.1f} ms   {best[name] / best['advisor']:6.1f} x   {off:.3f} K from ours")


def main() -> None:
    if os.environ.get("ADVISOR_BENCH") == "1":
        measure()
        return
    python = prepare()
    subprocess.run([str(python), __file__], check=True, env={**os.environ, "ADVISOR_BENCH": "1"})


if __name__ == "__main__":
    main()
