"""E along the grain from the tone of a tapped board.

These figures compare boards. They are never an approval to fly.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from nesting.wood.density import ACCURACY
from nesting.wood.estimate import Estimate
from nesting.wood.material import GREATEST_DENSITY_KG_M3, LEAST_DENSITY_KG_M3
from nesting.wood.sound.recording import Recording
from nesting.wood.sound.taps import Tone, find_tone
from nesting.wood.stiffness import SPEED_M_S, modulus_from_tone_mpa
from vectorize.basics.errors import CallError
from vectorize.basics.notes import Note

DENSITY_SIGMA_SHARE = 0.01
"""How well a density is known that was typed without its doubt (one standard deviation; common practice, no source)."""
DAMPED_SHARE = 0.042
"""A tone this wide is damped by the hand: a quality factor below about 35 in simulated boards."""
LENGTHS_MM = (100.0, 5000.0)
DYNAMIC = (
    "E from a tone is the dynamic modulus; a bend test of the same board shows about a tenth less (some per cent to a "
    "fifth in the literature)."
)
"""Sources: Hassan, Horáček & Tippner 2013, BioResources 8(2):1634-1645: longitudinal vibration 22 % above static
bending in pine, shear not taken out; Haines, Leban & Herbé 1996, Wood Science and Technology 30:253-263: longitudinal
resonance above static flexure in clear spruce and fir. Wood creeps a little under a load that stays, and shear adds to
its sag.
"""


@dataclass(frozen=True, slots=True)
class Tapped:
    """What the taps on a board say."""

    tone: Tone
    modulus_mpa: Estimate
    notes: tuple[Note, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return the result as the JSON contract has it."""
        return {
            "frequency_hz": round(self.tone.frequency_hz, 2),
            "modulus_gpa": round(self.modulus_mpa.value / 1000, 4),
            "sigma_gpa": round(self.modulus_mpa.sigma / 1000, 4),
            "taps": len(self.tone.frequencies_hz),
            "notes": [note.as_json() for note in self.notes],
        }


def tapped_modulus(recording: Recording, *, length_mm: float, density_kg_m3: Estimate) -> Tapped:
    """Return E along the grain of a board whose end was tapped while its middle was held.

    Args:
        recording: The sound, with three or more taps.
        length_mm: Along the grain, end to end.
        density_kg_m3: Of the board, with its doubt.

    Raises:
        CallError: A length or a density that no sheet has.
        RecordingError: The sound is not that of taps on a board of this length.
    """
    if not LENGTHS_MM[0] <= length_mm <= LENGTHS_MM[1]:
        raise CallError(
            f"the board's length is {length_mm:g} mm; boards of {LENGTHS_MM[0]:g} to {LENGTHS_MM[1]:g} mm can be told "
            "by their sound."
        )
    if not LEAST_DENSITY_KG_M3 <= density_kg_m3.value <= GREATEST_DENSITY_KG_M3:
        raise CallError(
            f"the board's density is {density_kg_m3.value:g} kg/m3; sheet wood has {LEAST_DENSITY_KG_M3:g} to "
            f"{GREATEST_DENSITY_KG_M3:g} kg/m3."
        )
    lowest, highest = (speed * 1000 / (2 * length_mm) for speed in SPEED_M_S)
    tone = find_tone(recording, lowest_hz=lowest, highest_hz=highest)
    frequency = Estimate.measured(tone.frequency_hz, tone.sigma_hz, "tone")
    length = Estimate.measured(length_mm, ACCURACY.length_sigma_mm, "length")
    return Tapped(tone, modulus_from_tone_mpa(frequency, length, density_kg_m3), _notes(tone))


def _notes(tone: Tone) -> tuple[Note, ...]:
    found = [Note("dynamic-modulus", DYNAMIC)]
    dropped = tone.heard - len(tone.frequencies_hz)
    if dropped:
        found.append(Note("taps-dropped", f"{dropped} of {tone.heard} blows did not show the tone and were left out."))
    if tone.has_clipping:
        text = "the recording is louder than its range in places; the tone is not changed by that, but tap more softly."
        found.append(Note("too-loud", text))
    if tone.width_share > DAMPED_SHARE:
        text = "the tone dies away quickly, so it is told less surely; hold the board by two finger tips at its middle."
        found.append(Note("tone-damped", text))
    if 3 not in tone.partials:
        text = (
            "the triple of the tone lies beyond what the recording holds, so that it could not be checked against it; "
            "record with 44100 samples a second or more, or bend the board as well."
        )
        found.append(Note("tone-unchecked", text, "open"))
    return tuple(found)
