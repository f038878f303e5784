"""What a job says of its materials, and what each part asks of its board."""

from __future__ import annotations

from collections.abc import Mapping

from nesting.job.model_schema import MaterialTable
from nesting.job.schema import JobSpec
from nesting.wood.density import Accuracy, Wood
from nesting.wood.material import Material, with_overrides
from nesting.wood.needs import Need, Substitute


def materials_of(spec: JobSpec) -> Mapping[str, Material]:
    """Return the materials with what the job changes or adds."""
    return with_overrides(_material(table) for table in spec.material)


def _material(table: MaterialTable) -> dict[str, object]:
    fields = {
        "name": table.name,
        "density_kg_m3": table.density,
        "density_spread": table.spread,
        "modulus_per_density": table.stiffness_per_density,
        "modulus_band": table.stiffness_band,
        "strength_per_density": table.strength_per_density,
        "strength_band": table.strength_band,
        "across_ratio": table.across,
        "shear_ratio": table.shear,
        "plies": table.plies,
    }
    return {name: value for name, value in fields.items() if value is not None}


def wood_of(spec: JobSpec) -> Wood:
    """Return the kinds of wood that the job knows, and how well its builder measures boards."""
    table = spec.accuracy
    accuracy = Accuracy(
        table.length, table.width, table.thickness, table.nominal_thickness, table.support, table.carved
    )
    return Wood(materials_of(spec), accuracy)


def needs_of(spec: JobSpec) -> Mapping[str, Need]:
    """Return what each part asks of its board."""
    return {
        table.name: Need(
            loading=table.loaded,
            use=table.use,
            flat_mm=table.flat,
            density_kg_m3=table.density,
            least_modulus_mpa=table.least_stiffness,
            cuts=table.cuts,
            substitutes=tuple(Substitute(s.material, s.thickness) for s in table.substitutes),
        )
        for table in spec.part
    }
