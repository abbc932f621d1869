"""Notices through apprise; only this file touches it."""

from collections.abc import Mapping

import apprise

from advisor.errors import ConfigError
from advisor.logbook.outbox import Waiting

TIMEOUT = "cto=4&rto=6"  # [s] to connect and to be answered, unless the address says otherwise


class AppriseNotifier:
    """Sends to apprise addresses, each known by its name; which are refused or slow is said, without their secrets.

    Raises ConfigError for an address that apprise does not know.
    """

    def __init__(self, addresses: Mapping[str, str]) -> None:
        self._addresses = addresses
        for number, name in enumerate(addresses, 1):
            if self._server(name) is None:
                raise ConfigError(
                    f"notices.destinations: number {number} is no address apprise knows",
                    "one like json://127.0.0.1:8080/notices",
                    "correct it",
                )

    def send(self, row: Waiting, text: str) -> str:
        """An empty text when it was sent, else why not. Never raises."""
        try:
            server = self._server(row.destination)
            if server is None:
                return "no such destination any more"
            return "" if bool(server.notify(body=text, title="Spray-day advisor")) else "not delivered"
        except Exception as error:
            # whatever a plugin raises must not end the thread; its text may hold a secret, its kind does not
            return f"{type(error).__name__}"

    def _server(self, name: str) -> apprise.Apprise | None:
        address = self._addresses.get(name, "")
        if "cto=" not in address:
            address += f"{'&' if '?' in address else '?'}{TIMEOUT}"
        server = apprise.Apprise()
        return server if name in self._addresses and server.add(address) else None
