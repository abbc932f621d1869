"""How long 2.1 million readings take into the logbook, with quality control; by hand.

.venv/bin/python benchmarks/import_csv.py [ROWS]
"""

import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

ROWS = int(sys.argv[1]) if len(sys.argv) > 1 else 525_600  # a year of minutes, four quantities each
BEGIN = datetime(2024, 1, 1, tzinfo=UTC)


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "advisor.toml").write_text('coatings = ["shellac"]\nlogbook = "log.db"\n', encoding="utf-8")
        with (folder / "year.csv").open("w", encoding="utf-8") as stream:
            stream.write("time,air_temperature_c,relative_humidity_pct,surface_temperature_c,particles_5um_per_m3\n")
            for n in range(ROWS):
                stamp = (BEGIN + timedelta(minutes=n)).strftime("%Y-%m-%dT%H:%M:%SZ")
                stream.write(
                    f"{stamp},{20 + n % 37 / 10:.1f},{45 + n % 53 / 5:.1f},{19 + n % 41 / 10:.1f},{2000 + n % 97}\n"
                )
        start = time.perf_counter()
        command = [
            sys.executable,
            "-m",
            "advisor",
            "import",
            "--config",
            str(folder / "advisor.toml"),
            str(folder / "year.csv"),
        ]
        subprocess.run(command, check=True)
        taken = time.perf_counter() - start
        size = (folder / "log.db").stat().st_size
        print(f"{4 * ROWS:,} readings in {taken:.0f} s: {4 * ROWS / taken:,.0f}/s, {size / 4 / ROWS:.0f} bytes each")


if __name__ == "__main__":
    main()
