"""Phrases beside computed numbers: they hold none of their own that could contradict them."""

import re

from advisor.say.phrases import REMEDY_WORDS
from tests.support import every

_SHARE_OF_TIME = re.compile(r"\b(twice|double|half|thrice|\d+([.,]\d+)? times)\b")


@every("kind", REMEDY_WORDS)
def test_no_remedy_says_how_many_times_longer_it_takes(kind):
    """ "About twice the time between coats" stood beside a next coat computed at 1.4 times."""
    assert not _SHARE_OF_TIME.search(REMEDY_WORDS[kind])
