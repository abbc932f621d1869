"""Where the configuration file is looked for, in order."""

import os
from pathlib import Path

from advisor.errors import ConfigError
from advisor.shop.shop import Shop

FILE_NAME = "advisor.toml"
SYSTEM_FILE = Path("/etc/spray-day-advisor") / FILE_NAME


def find_config(given: Path | None) -> Path | None:
    """The file to read: the one given, else $ADVISOR_CONFIG, ./advisor.toml, the user's, the system's; or None."""
    named = given or os.environ.get("ADVISOR_CONFIG")
    if named:
        return Path(named)
    local = Path(FILE_NAME)
    try:
        if local.exists() or local.is_symlink():
            return local
        from platformdirs import user_config_path  # noqa: PLC0415 - only when no nearer file was found

        further = (user_config_path("spray-day-advisor") / FILE_NAME, SYSTEM_FILE)
        return next((path for path in further if path.exists()), None)
    except OSError as error:
        raise ConfigError(
            f"cannot look for a configuration: {error.strerror}", "", "check the path and rights"
        ) from error


def shop_from(given: Path | None) -> Shop:
    """The shop of the file found, or a shop of defaults when there is none. Raises ConfigError."""
    path = find_config(given)
    if path is None:
        return Shop()
    from advisor.shop.config import read_config  # noqa: PLC0415 - pydantic only when there is a file to check

    return read_config(path).shop
