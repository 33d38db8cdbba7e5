"""Compiling in a second process: once for the same sources, and never at the cost of the first."""

import pytest

from airtrim.core import ahead

MODULE = "airtrim.core.errors"


@pytest.fixture(autouse=True)
def nothing_kept(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr(ahead, "_STARTED", {})


def test_what_was_done_ahead_is_not_done_again():
    ahead.compile_ahead(MODULE, "AirtrimError")
    assert (MODULE, "AirtrimError") in ahead._STARTED
    ahead.wait_for(MODULE, "AirtrimError")
    assert not ahead.is_under_way(MODULE, "AirtrimError")
    assert ahead._note(MODULE, "AirtrimError").exists()
    ahead._STARTED.clear()
    ahead.compile_ahead(MODULE, "AirtrimError")
    assert not ahead._STARTED


def test_what_fails_ahead_is_left_to_this_process():
    ahead.compile_ahead(MODULE, "no_such_function")
    ahead.wait_for(MODULE, "no_such_function")
    assert ahead._STARTED[MODULE, "no_such_function"].returncode != 0
    assert not ahead._note(MODULE, "no_such_function").exists()


def test_waiting_for_what_was_never_started_is_no_wait():
    ahead.wait_for(MODULE, "AirtrimError")
    assert not ahead.is_under_way(MODULE, "AirtrimError")
