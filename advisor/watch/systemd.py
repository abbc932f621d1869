"""Words to systemd, where it started us and listens; nothing otherwise."""

import os

import sdnotify


class SystemdLink:
    """Says READY, WATCHDOG and STOPPING to the service manager."""

    def __init__(self) -> None:
        self._notifier = sdnotify.SystemdNotifier() if os.environ.get("NOTIFY_SOCKET") else None

    def say(self, word: str) -> None:
        """Send one word, such as `READY=1`."""
        if self._notifier is not None:
            self._notifier.notify(word)

    def close(self) -> None:
        """Close the socket."""
        if self._notifier is not None:
            self._notifier.socket.close()
