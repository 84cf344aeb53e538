"""Triangles out of mesh files: OBJ, PLY, STL, glTF and GLB; counted before they are read."""

from __future__ import annotations

import functools
import json
import logging
import re
import struct
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final
from urllib.parse import unquote

import numpy as np

from falloff.errors import Fault, GeometryError
from falloff.stage.polygons import split_polygons
from falloff.types import Float64Array, IntArray

# Reading, welding and thinning this many takes about 10 s on one core of 2023.
MOST_TRIANGLES_READ: Final = 2_000_000
_MOST_BYTES: Final = 1_000_000_000
# Numbers as text are read some thirty times slower; these take about 8 s.
_MOST_TEXT_BYTES: Final = {".obj": 120_000_000, ".ply": 50_000_000, ".stl": 200_000_000}
_THIN: Final = "thin it in the program it came from, or leave out what the camera does not see"

# What a reader may raise on a file that is cut short or is none of its kind.
_BROKEN: Final = (
    ValueError,
    LookupError,
    TypeError,
    AttributeError,
    AssertionError,
    ArithmeticError,
    RuntimeError,
    NameError,
    ImportError,  # of a part that only odd files need
    OSError,
    EOFError,
    struct.error,
)
# What a glTF file may require without its triangles being other than they seem.
_HARMLESS: Final = ("KHR_materials_", "KHR_texture_", "KHR_lights_", "EXT_texture_", "KHR_xmp")


@dataclass(frozen=True, slots=True)
class FileMesh:
    """Triangles as a file has them: vertices (n, 3) in its own unit and axes, faces (t, 3)."""

    vertices: Float64Array
    faces: IntArray
    files: tuple[Path, ...]
    posed: bool = False  # bones or morphs were left out


def read_file(path: Path) -> FileMesh:
    """All triangles of a mesh file; raises GeometryError, and never starts what would stall."""
    suffix = path.suffix.lower()
    if suffix not in _READERS:
        raise _fault(
            path,
            "this kind of mesh file is not read",
            expected=", ".join(_READERS),
            found=suffix or "no ending",
            fix="export it as OBJ, PLY, STL, glTF or GLB",
        )
    if not path.exists():
        raise _fault(path, "there is no such file", fix="paths start at the scene file's folder")
    if not path.is_file():
        raise _fault(path, "this is a folder, not a mesh file", fix="name a file in it")
    try:
        size = path.stat().st_size
        if size > _MOST_BYTES:
            raise _too_big(path, f"{size / 1e6:,.0f} MB", f"{_MOST_BYTES / 1e6:,.0f} MB")
        with np.errstate(all="ignore"):  # numbers that are none are told of later
            return _READERS[suffix](path)
    except _BROKEN as error:
        raise _unreadable(path, str(error)) from error
    except MemoryError as error:
        raise _too_big(path, "more than memory holds", "a mesh that fits in memory") from error


def _admit(path: Path, count: int) -> None:
    """Refuse a count of triangles that would take too long."""
    if count > MOST_TRIANGLES_READ:
        raise _too_big(path, f"{count:,} triangles", f"at most {MOST_TRIANGLES_READ:,} triangles")


def _admit_text(path: Path, size: int) -> None:
    most = _MOST_TEXT_BYTES[path.suffix.lower()]
    if size > most:
        raise _fault(
            path,
            "the mesh file is too large to be read as text",
            expected=f"at most {most / 1e6:.0f} MB",
            found=f"{size / 1e6:,.0f} MB",
            fix="export it as GLB, or thin it in the program it came from",
        )


# OBJ -------------------------------------------------------------------------------------


def _read_obj(path: Path) -> FileMesh:
    """Vertices and faces only: groups and materials are merged, textures passed over.

    Not left to trimesh, which reads faces counted backwards from the end of the file and takes
    faces with unlike numbers of corners one by one.
    """
    _admit_text(path, path.stat().st_size)
    data = b"\n" + path.read_bytes().replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    _admit(path, data.count(b"\nf ") + data.count(b"\nf\t"))
    data = data.replace(b"\\\n", b" ")
    rows = re.findall(rb"^[ \t]*v[ \t]+(\S+[ \t]+\S+[ \t]+\S+)", data, re.MULTILINE)
    vertices = np.array(b" ".join(rows).split(), dtype="S32").astype(np.float64).reshape(-1, 3)
    faces = re.findall(rb"^[ \t]*f[ \t]+([^\n#]*)", data, re.MULTILINE)
    text = re.sub(rb"/[^ \t\n]*", b"", b"\n".join(faces))
    lines = text.split(b"\n")
    sizes = np.array([len(line.split()) for line in lines])
    flat = np.array(text.split(), dtype="S16").astype(np.int64)
    if (flat < 0).any():
        # Counted backwards from the vertex last written before the face.
        kinds = re.findall(rb"^[ \t]*([vf])[ \t]", data, re.MULTILINE)
        is_face = np.array(kinds) == b"f"
        before = np.cumsum(~is_face)[is_face]
        flat = np.where(flat < 0, np.repeat(before, sizes) + flat + 1, flat)
    if flat.size and not 1 <= int(flat.min()) <= int(flat.max()) <= len(vertices):
        raise ValueError("a face names a vertex that the file does not hold")
    return FileMesh(vertices, split_polygons(vertices, flat - 1, sizes), (path,))


# PLY -------------------------------------------------------------------------------------


def _read_ply(path: Path) -> FileMesh:
    with path.open("rb") as file:
        header = file.read(65_536)
    end = re.search(rb"end_header\r?\n", header)
    if not header.startswith(b"ply") or end is None:
        raise ValueError("its header is not that of a PLY file")
    text = header[: end.end()].decode("ascii", "replace")
    counts = dict(re.findall(r"^element\s+(\S+)\s+(\d+)", text, re.MULTILINE))
    _admit(path, int(counts.get("face", 0)))
    _admit(path, int(counts.get("vertex", 0)) // 3)
    if re.search(r"^format\s+ascii", text, re.MULTILINE):
        _admit_text(path, path.stat().st_size)
    try:
        return _load(path)
    except _BROKEN:
        if "format binary" not in text:
            raise
        return _read_ply_polygons(path, text, end.end())


_PLY_TYPES: Final = {
    "char": "i1", "int8": "i1", "uchar": "u1", "uint8": "u1", "short": "i2", "int16": "i2",
    "ushort": "u2", "uint16": "u2", "int": "i4", "int32": "i4", "uint": "u4", "uint32": "u4",
    "float": "f4", "float32": "f4", "double": "f8", "float64": "f8",
}  # fmt: skip


def _read_ply_polygons(path: Path, text: str, start: int) -> FileMesh:
    """Binary PLY whose faces have unlike numbers of corners, which trimesh does not read."""
    data = path.read_bytes()
    order = ">" if "binary_big_endian" in text else "<"
    vertices = np.empty((0, 3))
    flat: list[IntArray] = []
    for part in re.split(r"^element\s+", text, flags=re.MULTILINE)[1:]:
        name, count = part.split()[0], int(part.split()[1])
        fields = re.findall(r"^property\s+(list\s+\S+\s+\S+|\S+)\s+(\S+)", part, re.MULTILINE)
        if name != "face":
            dtype = np.dtype([(key, order + _PLY_TYPES[kind]) for kind, key in fields])
            rows = np.frombuffer(data, dtype, count, start)
            start += count * dtype.itemsize
            if name == "vertex":
                vertices = np.stack([rows[axis] for axis in "xyz"], 1).astype(np.float64)
            continue
        for _ in range(count):
            for kind, key in fields:
                size, item = 1, kind
                if kind.startswith("list"):
                    _, of_size, item = kind.split()
                    size = int(np.frombuffer(data, order + _PLY_TYPES[of_size], 1, start)[0])
                    start += np.dtype(_PLY_TYPES[of_size]).itemsize
                values = np.frombuffer(data, order + _PLY_TYPES[item], size, start)
                start += values.nbytes
                if key in ("vertex_indices", "vertex_index"):
                    flat.append(values)
    corners = np.concatenate(flat).astype(np.int64) if flat else np.empty(0, np.int64)
    if corners.size and not 0 <= int(corners.min()) <= int(corners.max()) < len(vertices):
        raise ValueError("a face names a vertex that the file does not hold")
    sizes = np.array([len(values) for values in flat])
    return FileMesh(vertices, split_polygons(vertices, corners, sizes), (path,))


# STL -------------------------------------------------------------------------------------


def _read_stl(path: Path) -> FileMesh:
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(1024)
    told = struct.unpack("<I", head[80:84])[0] if len(head) >= 84 else 0
    if size == 84 + 50 * told:
        _admit(path, told)
    elif b"facet" in head:
        _admit_text(path, size)
        _admit(path, path.read_bytes().count(b"endfacet"))
    elif size:
        raise ValueError(f"its length does not fit the {told:,} triangles that it tells of")
    return _load(path)


# glTF ------------------------------------------------------------------------------------


def _read_gltf(path: Path) -> FileMesh:
    tree = _gltf_tree(path)
    required = [
        name for name in tree.get("extensionsRequired", []) if not name.startswith(_HARMLESS)
    ]
    if required:
        raise _fault(
            path,
            "the mesh is packed in a way that is not read",
            found=", ".join(required),
            fix="export it again without compression",
        )
    _admit(path, _gltf_triangles(tree))
    files = _gltf_buffers(path, tree)
    found = _load(path)
    posed = bool(tree.get("skins")) or any(
        "targets" in part for mesh in tree.get("meshes", []) for part in mesh["primitives"]
    )
    return FileMesh(found.vertices, found.faces, (path, *files), posed=posed)


def _gltf_tree(path: Path) -> dict[str, Any]:
    """The JSON of a glTF file, or of a GLB file's first chunk."""
    data = path.read_bytes()
    if path.suffix.lower() == ".glb":
        magic, _, _, length, kind = struct.unpack_from("<4sIII4s", data)
        if magic != b"glTF" or kind != b"JSON":
            raise ValueError("its header is not that of a GLB file")
        data = data[20 : 20 + length]
    tree = json.loads(data)
    if not isinstance(tree, dict) or "asset" not in tree:
        raise ValueError("it is not glTF")
    return tree


def _gltf_triangles(tree: dict[str, Any]) -> int:
    """How many triangles the nodes of a glTF file show, each mesh as often as it stands there."""
    accessors = tree.get("accessors", [])
    counts = []
    for mesh in tree.get("meshes", []):
        total = 0
        for part in mesh["primitives"]:
            mode = part.get("mode", 4)
            if mode >= 4:
                told = accessors[part.get("indices", part["attributes"]["POSITION"])]
                if "sparse" in told:
                    raise ValueError("sparse accessors are not read")
                total += told["count"] // 3 if mode == 4 else max(0, told["count"] - 2)
        counts.append(total)
    _refuse_rings(tree.get("nodes", []))
    return sum(counts[node["mesh"]] for node in tree.get("nodes", []) if "mesh" in node)


def _refuse_rings(nodes: list[dict[str, Any]]) -> None:
    """Nodes are a tree: no node is a child twice, or of itself in any number of steps."""
    parent: dict[int, int] = {}
    for k, node in enumerate(nodes):
        for child in node.get("children", []):
            if child in parent:
                raise ValueError(f"node {child} has two parents")
            parent[child] = k
    for k in parent:
        seen, at = 0, k
        while at in parent and seen <= len(nodes):
            at, seen = parent[at], seen + 1
            if at == k:
                raise ValueError(f"node {k} is its own parent")


def _gltf_buffers(path: Path, tree: dict[str, Any]) -> list[Path]:
    """The files that a glTF file's numbers are in; all must be there and long enough."""
    files = []
    for buffer in tree.get("buffers", []):
        uri = buffer.get("uri")
        if uri is None or uri.startswith("data:"):
            continue
        if "://" in uri:
            raise _fault(
                path,
                "a part of the mesh is on the network",
                found=uri,
                fix="export it as GLB, which holds all of it",
            )
        file = path.parent / unquote(uri)
        if not file.is_file() or file.stat().st_size < buffer["byteLength"]:
            raise _fault(
                path,
                "a file that belongs to the mesh is missing or cut short",
                expected=f"{buffer['byteLength']:,} bytes in {file.name}",
                found=f"{file.stat().st_size:,} bytes" if file.is_file() else "no such file",
                fix="put it beside the mesh, or export the mesh as GLB, which holds all of it",
            )
        files.append(file)
    return files


def _load(path: Path) -> FileMesh:
    """What trimesh reads, its scene graph applied."""
    import trimesh

    log = logging.getLogger("trimesh")
    if not log.handlers:
        log.addHandler(logging.NullHandler())  # what it has to say is said by our faults
    load = trimesh.load_scene
    if path.suffix.lower() in (".gltf", ".glb"):
        load = functools.partial(load, skip_materials=True)
    scene = load(str(path), process=False)
    vertices, faces, count = [np.empty((0, 3))], [np.empty((0, 3), np.int64)], 0
    for node in scene.graph.nodes_geometry:
        turn, name = scene.graph[node]
        mesh = scene.geometry[name]
        if not isinstance(mesh, trimesh.Trimesh):
            continue  # lines and points give no surface
        corners = np.asarray(mesh.faces, np.int64)
        mirrored = np.linalg.det(turn[:3, :3]) < 0.0
        vertices.append(np.asarray(mesh.vertices, np.float64) @ turn[:3, :3].T + turn[:3, 3])
        faces.append(count + (corners[:, ::-1] if mirrored else corners))
        count += len(mesh.vertices)
    joined = np.concatenate(faces)
    if joined.size and not 0 <= int(joined.min()) <= int(joined.max()) < count:
        raise ValueError("a face names a vertex that the file does not hold")
    return FileMesh(np.concatenate(vertices), joined, (path,))


_READERS: Final[dict[str, Callable[[Path], FileMesh]]] = {
    ".obj": _read_obj,
    ".ply": _read_ply,
    ".stl": _read_stl,
    ".gltf": _read_gltf,
    ".glb": _read_gltf,
}


# Faults ----------------------------------------------------------------------------------


def _fault(
    path: Path, what: str, *, expected: str = "", found: str = "", fix: str
) -> GeometryError:
    return GeometryError(
        Fault(what=f"{path.name}: {what}", where=str(path), expected=expected, found=found, fix=fix)
    )


def _too_big(path: Path, found: str, expected: str) -> GeometryError:
    return _fault(
        path, "the mesh is too large to be read", expected=expected, found=found, fix=_THIN
    )


def _unreadable(path: Path, reason: str) -> GeometryError:
    first = (reason.strip().splitlines() or ["it ends too soon"])[0][:120]
    return _fault(
        path,
        "the mesh file cannot be read",
        expected=f"a whole {path.suffix.lower().lstrip('.').upper()} file",
        found=first,
        fix="export it again from the program it came from",
    )
