"""Panels that are flexed in tests, with the model round them, and a fine model of a beam to hold them against."""

from dataclasses import replace

import numpy as np

from nesting.balance.balance_report import BalancePlan
from nesting.balance.entries import Build
from nesting.balance.weights import weigh_parts
from nesting.job.deriving import Carving
from nesting.job.flex_panel import PanelBuilder
from nesting.job.flex_tables import FlexOptionTable
from nesting.job.model_values import Model
from nesting.job.step_tables import CarveTable
from nesting.place.layout_rules import NestRules
from nesting.wood.board import Board
from nesting.wood.density import USUAL
from nesting.wood.flex.panel_flex import springiness
from nesting.wood.part import Part


def board(name, material, density, thickness=12.0):
    mass = density * thickness * 1000 * 150e-6
    return Board(name, material, thickness, 1000, 150, measured_thickness_mm=thickness, mass_g=mass)


BALSA, FIRM, LIME = board("light", "balsa", 128.0), board("firm", "balsa", 183.0), board("lime", "basswood", 414.0)


def carving_of(panel, pieces=None):
    table = CarveTable(section="NACA 0009", span=((0, 0), (1, 0)), leading=(0, 1))
    whole = Part("wing", panel.planform.outline, "balsa", panel.blank_thickness_mm)
    return Carving("wing", panel, table, pieces or (whole,))


def model_of(carving, *boards, build=Build(), wood=USUAL, layout=None):  # noqa: B008 - frozen
    boards = boards or tuple(replace(one, thickness_mm=carving.panel.blank_thickness_mm) for one in (BALSA, FIRM, LIME))
    return Model(
        parts=carving.pieces, boards=boards, wood=wood, needs={}, build=build, seats={}, datum=None, items=(),
        readings=(), plan=BalancePlan(), layout=layout, weights=weigh_parts(carving.pieces, boards, layout=layout),
        rules=NestRules(), notes=(), carvings=(carving,),
    )  # fmt: skip


def built(panel, *, model=None, **option):
    carving = carving_of(panel)
    return PanelBuilder(model or model_of(carving), carving, FlexOptionTable(name="so", part="wing", **option))


def sprung(panel, **option):
    return springiness(built(panel, **option).panel())


class FineBeam:
    """A panel in 250 slices of 1,000 even columns, its first modes from influence coefficients.

    Source: Scanlan & Rosenbaum 1951, Introduction to the Study of Aircraft Vibration and Flutter, chapter 4 (from
    memory): amplitude = omega^2 x sum of influence x mass x amplitude, so the greatest eigenvalue is 1 / omega^2.
    """

    def __init__(self, panel, wood):
        """`wood(share, aft_mm, station)` gives E, G and density (MPa, kg/m3) at places of the chord."""
        low, high = panel.planform.root_station, panel.planform.span[1]
        step = (high - low) / 250
        self.y = low + step * (np.arange(250) + 0.5)
        self.length, self.step = high - low, step
        rows = [self._slice(panel, float(y), wood) for y in self.y]
        self.flat, self.twist, self.mass, self.roll = np.array(rows).T
        self.y = self.y - low

    def _slice(self, panel, station, wood):
        at = np.array([station])
        lead, chord = float(panel.planform.leading_edge(at)[0]), float(panel.planform.chord(at)[0])
        share = (np.arange(1000) + 0.5) / 1000
        upper, lower = panel.heights(station, share)
        e, g, rho = wood(share, share * chord, station)
        dx, tall, middle, x = chord / 1000, upper - lower, (upper + lower) / 2, lead + share * chord
        neutral = (e * tall * middle).sum() / (e * tall).sum()
        second = tall**3 / 12 + tall * (middle - neutral) ** 2
        elastic = (e * second * x).sum() / (e * second).sum()
        polar = second + tall * (x - elastic) ** 2
        return (
            (e * second).sum() * dx,
            (g * tall**3 / 3).sum() * dx,
            (rho * tall).sum() * dx * 1e-9,
            (rho * polar).sum() * dx * 1e-9,
        )

    def bending2(self):
        """Return the square of the first frequency of bending, 1/s2."""
        arm = np.clip(self.y[:, None] - self.y[None, :], 0.0, None)  # of a load at i about a cut at j
        influence = (arm / self.flat * self.step) @ arm.T
        # Half a slice lies beyond each cut at its own middle.
        return self._greatest(influence, self.mass)

    def twist2(self):
        """Return the square of the first frequency of twisting, 1/s2."""
        softness = np.cumsum(self.step / self.twist) - self.step / self.twist / 2
        return self._greatest(np.minimum(softness[:, None], softness[None, :]), self.roll)

    def _greatest(self, influence, inertia):
        root = np.sqrt(inertia * self.step)
        return 1000.0 / np.linalg.eigvalsh(root[:, None] * influence * root[None, :])[-1]

    def mass_g(self):
        """Return the mass in g."""
        return float(self.mass.sum() * self.step * 1000.0)
