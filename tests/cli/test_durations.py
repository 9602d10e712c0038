"""Durations as a user types them."""

import argparse

import pytest

from optimiser.cli.durations import duration


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("30s", 30), ("10m", 600), ("1h30m", 5400), ("2h", 7200), ("1h5s", 3605), ("90", 90), ("1.5m", 90), ("1M", 60)],
)
def test_a_duration_is_read(text: str, seconds: float) -> None:
    assert duration(text) == seconds


@pytest.mark.parametrize("text", ["", "0", "0s", "-5", "10x", "m", "5m1h", "1e3", "inf", "nan", "1h 30m", "9" * 400])
def test_what_is_no_duration_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(argparse.ArgumentTypeError, match="1h30m"):
        duration(text)
