"""The witness's room as a stage of ours, traced once for all tests that judge it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests.reference.scenes.balls import ball_mesh
from tests.reference.witness import load

from falloff.document import SceneDocument, read_document
from falloff.stage import Grain, Probe, Stage
from falloff.stage.build import build_pieces, finish_stage
from falloff.stage.dice import PieceBuilder
from falloff.stage.places import Placer

SCENE = Path(__file__).parent / "scenes" / "test_room.scene.yaml"


def stage_with_head(document: SceneDocument) -> Stage:
    """The document's stage, and the ball that stands for a head (no scene file holds a ball)."""
    placer = Placer(document)
    pieces, sources = build_pieces(placer, Grain())
    head = PieceBuilder("HEAD", Grain())
    # source: the witness's room, a ball of 12 cm radius, reflectance 0.36
    corners, normals = ball_mesh(np.array([2.5, 2.6, 1.2]), 0.12)
    head.add_mesh(corners, normals=normals, material="head")
    return finish_stage(placer, [*pieces, head.build()], sources)


@pytest.fixture(scope="session")
def witness_document() -> SceneDocument:
    """The room as our own scene file has it."""
    return read_document(SCENE)


@pytest.fixture(scope="session")
def witness_stage(witness_document: SceneDocument) -> Stage:
    """The room as a stage."""
    return stage_with_head(witness_document)


@pytest.fixture(scope="session")
def witness_probes() -> tuple[Probe, ...]:
    """The witness's receptors as probes."""
    return tuple(
        Probe(reading.name, "flat", reading.point_m, reading.normal)
        for reading in load.load_readings()
    )
