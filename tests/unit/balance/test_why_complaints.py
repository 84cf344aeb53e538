"""Complaints as a person says them."""

from __future__ import annotations

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from falloff.balance.why.complaints import USUAL, Complaint, read_complaint, unknown
from falloff.errors import DocumentError


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("face flat", Complaint("flat")),
        ("the face is flat", Complaint("flat")),
        ("ANNA flat", Complaint("flat", "ANNA")),
        ("ANNA's face looks too flat", Complaint("flat", "ANNA")),
        ("flat face", Complaint("flat")),
        ("face too contrasty", Complaint("harsh")),
        ("wall hot", Complaint("bright", "wall")),
        ("the back wall hot", Complaint("bright", "back wall")),
        ("The back wall is too bright!", Complaint("bright", "back wall")),
        ("window is blown out", Complaint("bright", "window")),
        ("window hot", Complaint("bright", "window")),
        ("eyes dark", Complaint("eyes")),
        ("the eye sockets are dark", Complaint("eyes", "")),
        ("ANNA eyes dark", Complaint("eyes", "ANNA")),
        ("ANNA's eyes dark", Complaint("eyes", "ANNA")),
        ("ANNA’s eyes are too dark", Complaint("eyes", "ANNA")),
        ("her left eye dark", Complaint("eyes")),
        ("her face is flat", Complaint("flat")),
        ("his face too dark", Complaint("dark", "face")),
        ("KEY is not landing on him", Complaint("beam", "KEY", "face")),
        ("ANNA's left eye dark", Complaint("eyes", "ANNA")),
        ("the bench too dark", Complaint("dark", "bench")),
        ("too dark", Complaint("dark", "face")),
        ("beam not landing", Complaint("beam")),
        ("KEY is not landing on ANNA", Complaint("beam", "KEY", "ANNA")),
        ("WALL HEAD misses the back wall", Complaint("beam", "WALL HEAD", "back wall")),
        ("face jumps in the close", Complaint("jump", "", "close")),
        ("ANNA doesn't match in CLOSE-UP", Complaint("jump", "ANNA", "CLOSE-UP")),
    ],
)
def test_words_are_understood(said: str, meant: Complaint) -> None:
    assert read_complaint(said) == meant


@pytest.mark.parametrize("said", USUAL)
def test_every_complaint_that_is_offered_is_understood(said: str) -> None:
    assert read_complaint(said.split())


def test_an_unknown_complaint_names_the_nearest() -> None:
    with pytest.raises(DocumentError) as told:
        read_complaint("wall hott")
    (fault,) = told.value.faults
    assert fault.fix == "did you mean 'wall hot'?"
    assert "eyes dark" in fault.expected


def test_many_names_are_not_told_all() -> None:
    error = unknown("reading", "bench 12", [f"bench {k}" for k in range(40)])
    assert error.faults[0].expected.count(",") == 11
    assert error.faults[0].fix == "did you mean 'bench 12'?"


@given(st.text(max_size=60))
def test_no_words_crash(said: str) -> None:
    with contextlib.suppress(DocumentError):
        assert read_complaint(said).kind
