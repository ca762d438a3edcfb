"""Draw who imports whom, from the imports themselves: python tests/house/draw_map.py [--write]

Prints the map; with --write puts it between its marks in DEVELOPERS.md. A row is a package, the lowest first, and
what it imports directly. What hangs the project together (settings, addresses, the servers' entry points) is 'wiring'.
"""

import re
import sys
from collections import defaultdict
from pathlib import Path

import grimp

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("fleet", "checks", "reports")
# Files that are a room of their own, though no folder.
SINGLE = {"problems", "models", "log", "celery", "convert", "display"}
# One for all, so that a new room changes one line.
WIDTH = 22
BEGIN, END = "<!-- the map, drawn by tests/house/draw_map.py -->\n", "<!-- the map ends -->\n"


def room_of(module: str) -> str:
    """The package, or the single file of weight, to which a module belongs; '' for what is left out."""
    top, *rest = module.split(".")
    if not rest or "migrations" in rest:
        return ""
    if rest[0] in SINGLE or ROOT.joinpath(top, rest[0]).is_dir():
        return f"{top}.{rest[0]}"
    return f"{top} (wiring)"


def imports_of_rooms() -> dict[str, set[str]]:
    """Each room with the rooms that it imports."""
    graph = grimp.build_graph(*PACKAGES, cache_dir=None)
    rooms: dict[str, set[str]] = defaultdict(set)
    for module in graph.modules:
        room = room_of(module)
        if room:
            found = {room_of(other) for other in graph.find_modules_directly_imported_by(module)}
            rooms[room] |= found - {room, ""}
    return dict(rooms)


def height(rooms: dict[str, set[str]]) -> dict[str, int]:
    """How high each room stands: one above the highest that it imports; rooms in a circle stand together."""
    reach = {room: _below(room, rooms) for room in rooms}
    circle = {room: frozenset(other for other in reach[room] if room in reach[other]) | {room} for room in rooms}

    def of(room: str) -> int:
        return 1 + max((of(other) for one in circle[room] for other in rooms[one] - circle[room]), default=0)

    return {room: of(room) for room in rooms}


def _below(room: str, rooms: dict[str, set[str]]) -> set[str]:
    found: set[str] = set()
    waiting = [room]
    while waiting:
        fresh = rooms[waiting.pop()] - found
        found |= fresh
        waiting += fresh
    return found


def drawn(rooms: dict[str, set[str]]) -> str:
    """The map as text: lowest first, own package's names without their first word."""
    heights = height(rooms)
    order = sorted(rooms, key=lambda room: (PACKAGES.index(re.split(r"[. ]", room)[0]), heights[room], room))
    lines = []
    for room in order:
        by: dict[str, list[str]] = defaultdict(list)
        for other in sorted(rooms[room], key=order.index):
            head, rest = re.split(r"[. ]", other, maxsplit=1)
            by[head].append(rest)
        told = "; ".join(f"{head}: {', '.join(names)}" for head, names in by.items())
        lines.append(f"{room:<{WIDTH}}  {told or 'nothing of ours'}")
    return "\n".join(lines) + "\n"


def block() -> str:
    """What stands between the marks."""
    return f"{BEGIN}```\n{drawn(imports_of_rooms())}```\n{END}"


def committed(text: str) -> str:
    """The map that a text holds, with its marks."""
    return text[text.index(BEGIN) : text.index(END) + len(END)]


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    if "--write" in sys.argv:
        document = ROOT / "DEVELOPERS.md"
        text = document.read_text()
        document.write_text(text.replace(committed(text), block()))
    else:
        print(drawn(imports_of_rooms()), end="")
