"""A typed check in a fresh process beside `import pandas`; medians of five after one warm-up, in one run.

.venv/bin/python benchmarks/startup.py
"""

import statistics
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from made_log import DAY, make_log

RUNS = 5
COMMANDS = {
    "check, shellac": ["-m", "advisor", "check", "--air", "24C", "--rh", "62%", "--coating", "shellac"],
    "check, lacquer, a GO": [
        *("-m", "advisor", "check", "--air", "22C", "--rh", "48%", "--coating", "nitrocellulose-lacquer"),
    ],
    "check, lacquer, changes": [
        *("-m", "advisor", "check", "--air", "24C", "--rh", "70%", "--coating", "nitrocellulose-lacquer"),
    ],
    "check, session, a GO": [
        *("-m", "advisor", "check", "--air", "22C", "--rh", "48%", "--coating", "nitrocellulose-lacquer"),
        *("--outdoors", "20C", "--outdoors-rh", "50%"),
    ],
    "check, session, changes": [
        *("-m", "advisor", "check", "--air", "22C", "--rh", "50%", "--coating", "nitrocellulose-lacquer"),
        *("--outdoors", "25C", "--outdoors-rh", "68%"),
    ],
    "check, session, a WAIT": [
        *("-m", "advisor", "check", "--air", "20C", "--rh", "40%", "--coating", "waterborne-clear-1k"),
        *("--outdoors", "0C", "--outdoors-rh", "85%"),
    ],
    "check, 30 days of log, a GO": [
        *("-m", "advisor", "check", "--config", "LOGGED", "--coating", "nitrocellulose-lacquer"),
        *("--outdoors", "20C", "--outdoors-rh", "50%"),
    ],
    "check, 30 days of log, a WAIT": [
        *("-m", "advisor", "check", "--config", "LOGGED", "--coating", "waterborne-clear-1k"),
        *("--outdoors", "0C", "--outdoors-rh", "85%"),
    ],
    "import pandas": ["-c", "import pandas"],
    "advisor --help": ["-m", "advisor", "--help"],
}


def seconds(arguments: list[str]) -> float:
    """Wall time of one fresh process."""
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], check=False, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def logged(folder: Path) -> Path:
    """A config beside a logbook of the last 30 days, four series by the minute."""
    make_log(folder / "log.db", datetime.now(UTC) - timedelta(days=30), 30 * DAY)
    config = folder / "advisor.toml"
    config.write_text('coatings = ["nitrocellulose-lacquer"]\nlogbook = "log.db"\nzone = "UTC"\n')
    return config


def main() -> None:
    config = str(logged(Path(tempfile.mkdtemp())))
    commands = {
        name: [config if word == "LOGGED" else word for word in arguments] for name, arguments in COMMANDS.items()
    }
    for arguments in commands.values():
        seconds(arguments)
    # in turn, so that a busy machine slows all alike
    rounds = [{name: seconds(arguments) for name, arguments in commands.items()} for _ in range(RUNS)]
    medians = {name: statistics.median(entry[name] for entry in rounds) for name in commands}
    for name, median in medians.items():
        print(f"{name:<30} {median:.3f} s   {median / medians['import pandas']:.2f} of import pandas")


if __name__ == "__main__":
    main()
