"""Draw the tablet's icons anew: python tests/house/draw_icons.py. The same figure as in icon.svg, on a grid of 64."""

from pathlib import Path

from PIL import Image, ImageDraw

FOLDER = Path(__file__).resolve().parents[2] / "checks" / "static" / "checks" / "tablet"
SIZES = (192, 512)
GRID = 64
FINER = 4
INK, BAND, GREY, GREEN = "#1b2329", "#dcdccf", "#4c565e", "#007a5e"
# Within the middle 80 %, so that a round mask cuts nothing off.
BOXES = (
    ((8, 25, 56, 41), BAND),
    ((28.5, 16, 31.5, 49), GREY),
    ((24, 31, 50, 35), GREEN),
    ((22, 26, 26, 40), GREEN),
    ((48, 26, 52, 40), GREEN),
)
DISC = (29, 25, 45, 41)


def draw(size: int) -> Image.Image:
    """The icon, `size` pixels wide: the window as a band, its nominal, and a reading with its whisker."""
    scale = size * FINER / GRID
    image = Image.new("RGB", (size * FINER, size * FINER), INK)
    pen = ImageDraw.Draw(image)
    for box, colour in BOXES:
        pen.rectangle([side * scale for side in box], fill=colour)
    pen.ellipse([side * scale for side in DISC], fill=GREEN)
    return image.resize((size, size), Image.Resampling.LANCZOS)


if __name__ == "__main__":
    for size in SIZES:
        draw(size).save(FOLDER / f"icon-{size}.png", optimize=True)
