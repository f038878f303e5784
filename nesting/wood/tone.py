"""The tone of a board in pictures: balsa darkens with its density, ply has one tone of its own."""

from __future__ import annotations

Tone = tuple[int, int, int]
"""Red, green and blue as a screen takes them (sRGB), 0 to 255."""

PALE: Tone = (250, 236, 207)
DARK: Tone = (202, 150, 92)
PLY: Tone = (226, 196, 148)
LIGHTEST_KG_M3 = 70.0
HEAVIEST_KG_M3 = 300.0
"""Between these balsa goes from pale to dark; what is lighter or heavier looks like the end of the range."""


def wood_tone(material: str, density_kg_m3: float) -> Tone:
    """Return the tone of wood, the same as that of its board at the desk."""
    if "balsa" not in material:
        return PLY
    share = (density_kg_m3 - LIGHTEST_KG_M3) / (HEAVIEST_KG_M3 - LIGHTEST_KG_M3)
    share = min(1.0, max(0.0, share))
    red, green, blue = (round(pale + share * (dark - pale)) for pale, dark in zip(PALE, DARK, strict=True))
    return red, green, blue
