"""`sheetwood tap`: how stiff a board is, by its sound."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from nesting.cli.console import JsonOption, VerboseOption, finish, give_json, reporting, say, show_table

LengthOption = Annotated[str, typer.Option(metavar="LENGTH", help="The board's length along the grain, as '1 m'.")]
DensityOption = Annotated[str, typer.Option(metavar="DENSITY", help="Its density, as '150 kg/m3'; `rack` tells it.")]
DoubtOption = Annotated[
    str | None,
    typer.Option(
        metavar="DENSITY", help="How far the density may be off (one standard deviation); 1 % of it unless given."
    ),
]


def tap(
    recording: Annotated[Path, typer.Argument(metavar="RECORDING", help="A WAV file with three or more taps.")],
    length: LengthOption,
    density: DensityOption,
    density_sigma: DoubtOption = None,
    as_json: JsonOption = False,
    verbose: VerboseOption = False,
) -> None:
    """Tell a board's stiffness from the sound of taps on its end.

    Hold the board at its middle between two fingers, tap one end along the grain with something small and hard,
    five times, a second apart, and record it in a quiet room. Nothing is written.
    """
    with reporting(is_verbose=verbose):
        from nesting.wood.estimate import Estimate
        from nesting.wood.sound.recording import read_recording
        from nesting.wood.sound.tapped import DENSITY_SIGMA_SHARE, tapped_modulus
        from nesting.wood.stiffness import CAUTION
        from vectorize.basics.units import DENSITY, LENGTH, parse

        length_mm = parse(length, LENGTH, what="--length")
        value = parse(density, DENSITY, what="--density")
        sigma = value * DENSITY_SIGMA_SHARE
        if density_sigma is not None:
            sigma = abs(parse(density_sigma, DENSITY, what="--density-sigma"))
        known = Estimate.measured(value, sigma, "density")
        found = tapped_modulus(read_recording(recording), length_mm=length_mm, density_kg_m3=known)
        if as_json:
            give_json(found.as_json())
        else:
            tone, modulus = found.tone, found.modulus_mpa
            row = (
                f"{tone.frequency_hz:.0f} ± {tone.sigma_hz:.0f}",
                f"{modulus.value / 1000:.2f} ± {modulus.sigma / 1000:.2f}",
                f"{len(tone.frequencies_hz)} of {tone.heard}",
                modulus.main_doubt or "",
            )
            show_table("Tapped board", ("tone (Hz)", "E along grain (GPa)", "taps", "most doubt"), [row])
            say(CAUTION)
        finish(found.notes)
