"""Notices through apprise; only this file touches it."""

import apprise

from advisor.logbook.outbox import Waiting

TIMEOUT = "cto=4&rto=6"  # [s] to connect and to be answered, unless the address says otherwise


class AppriseNotifier:
    """Sends to apprise addresses; which are refused or slow is said, without their secrets."""

    def send(self, row: Waiting, text: str) -> str:
        """An empty text when it was sent, else why not. Never raises."""
        try:
            server = apprise.Apprise()
            address = destination = row.destination
            if "cto=" not in destination:
                address = f"{destination}{'&' if '?' in destination else '?'}{TIMEOUT}"
            if not server.add(address):
                return "an address that apprise does not know"
            return "" if bool(server.notify(body=text, title="Spray-day advisor")) else "not delivered"
        except Exception as error:
            # whatever a plugin raises must not end the thread; its text may hold a secret, its kind does not
            return f"{type(error).__name__}"
