"""Where the broker's password is read from."""

from collections.abc import Mapping
from pathlib import Path

from advisor.errors import ConfigError, FileError
from advisor.shop.shop import Broker


def read_password(broker: Broker, environment: Mapping[str, str]) -> str | None:
    """The password from where the configuration says it is; what it says there is not shown, as it may be the password.

    Raises ConfigError where the environment has none, FileError for a file that cannot be read.
    """
    if broker.password_env is not None:
        if broker.password_env not in environment:
            raise ConfigError("the variable that mqtt.password_env names is not set", "", "set it, or use a file")
        return environment[broker.password_env]
    key, path = "password_file", broker.password_file
    if broker.credential is not None:
        folder = environment.get("CREDENTIALS_DIRECTORY")
        if folder is None:
            raise ConfigError("mqtt.credential: no $CREDENTIALS_DIRECTORY", "", "start it by its unit, or use a file")
        key, path = "credential", Path(folder) / broker.credential
    if path is None:
        return None
    try:
        return path.read_text("utf-8").rstrip("\r\n")
    except (OSError, ValueError) as error:
        what = error.strerror if isinstance(error, OSError) else "no text in UTF-8"
        raise FileError(f"the file that mqtt.{key} names: {what}", "", "check the file and who may read it") from error
