"""The contact sheet's index: a row of small pictures a page, and sheets of them as pictures."""

from collections.abc import Iterator
from html import escape
from pathlib import Path

from PIL import Image, ImageDraw

THUMB = (240, 300)
ROWS_A_SHEET = 8
LABEL = 18
STYLE = "body{font:14px sans-serif}td{vertical-align:top;padding:4px}img{border:1px solid #999}li{color:#900}"


def write_index(folder: Path, names: list[str], sizes: list[str], faults: list[tuple[str, str, str]]) -> None:
    """Write index.html and sheet-1.png and so on of the pictures that are in the folder."""
    rows = []
    for name in names:
        of_page = folder / name.replace(":", "-")
        cells = "".join(_cell(of_page, size, folder) for size in sizes)
        said = "".join(f"<li>{escape(f'{size}: {fault}')}</li>" for one, size, fault in faults if one == name)
        rows.append(f"<h2>{escape(name)}</h2><ul>{said}</ul><table><tr>{cells}</tr></table>")
    head = f"<!doctype html><meta charset=utf-8><title>Contact sheet</title><style>{STYLE}</style>"
    (folder / "index.html").write_text(head + "".join(rows))
    for number, part in enumerate(_parts(names), 1):
        _sheet(folder, part, sizes).save(folder / f"sheet-{number}.png")


def _parts(names: list[str]) -> Iterator[list[str]]:
    for first in range(0, len(names), ROWS_A_SHEET):
        yield names[first : first + ROWS_A_SHEET]


def _cell(of_page: Path, size: str, folder: Path) -> str:
    shot, small = of_page / f"{size}.png", of_page / f"{size}-small.jpg"
    if not shot.exists():
        return f"<td>{size}: none</td>"
    _thumb(shot).save(small, quality=80)
    link, picture = shot.relative_to(folder), small.relative_to(folder)
    return f'<td>{size}<br><a href="{link}"><img src="{picture}" alt="{size}"></a></td>'


def _thumb(shot: Path) -> Image.Image:
    """The top of a picture, as wide as a thumbnail; the rest of a long page is behind the link."""
    with Image.open(shot) as whole:
        seen = min(whole.height, round(whole.width * THUMB[1] / THUMB[0]))
        return (
            whole.convert("RGB")
            .crop((0, 0, whole.width, seen))
            .resize((THUMB[0], round(seen * THUMB[0] / whole.width)))
        )


def _sheet(folder: Path, names: list[str], sizes: list[str]) -> Image.Image:
    step = THUMB[1] + LABEL
    sheet = Image.new("RGB", (len(sizes) * (THUMB[0] + 4), len(names) * step), "#999999")
    pen = ImageDraw.Draw(sheet)
    for row, name in enumerate(names):
        pen.text((4, row * step + 2), name, fill="black")
        for column, size in enumerate(sizes):
            small = folder / name.replace(":", "-") / f"{size}-small.jpg"
            if small.exists():
                with Image.open(small) as picture:
                    sheet.paste(picture, (column * (THUMB[0] + 4), row * step + LABEL))
    return sheet
