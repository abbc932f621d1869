"""A month of log."""

from pathlib import Path

import pytest

from tests.cli.ahead.asked import log_file


@pytest.fixture(scope="module")
def month(tmp_path_factory) -> Path:
    return log_file(tmp_path_factory.mktemp("month"), 30)
