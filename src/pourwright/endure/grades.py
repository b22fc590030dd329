"""Classes that boards are sold in: the figures that name a class, read from the catalogue."""

from __future__ import annotations

from dataclasses import dataclass, field

from pourwright.catalogue.model import Material

WORDS = {
    "density_kg_m3": ("density {:.0f} kg/m3", 1.0),
    "E_Pa": ("stiffness {:.0f} MPa", 1e-6),
    "G_Pa": ("shear stiffness {:.0f} MPa", 1e-6),
    "bending_strength_Pa": ("bending strength {:.3g} MPa", 1e-6),
    "compress_strength_Pa": ("compression {:.3g} MPa", 1e-6),
    "shear_strength_Pa": ("shear strength {:.3g} MPa", 1e-6),
    "internal_bond_Pa": ("across the face {:.3g} MPa", 1e-6),
    "permeance_ng_Pasm2": ("permeance at most {:.0f} ng/(Pa s m2) at 25 mm", 1.0),
    "swell_2h": ("swelling at most {:.0f} % in 2 h of water", 100.0),
    "swell_24h": ("swelling at most {:.0f} % in 24 h of water", 100.0),
    "expansion": ("linear expansion at most {:.2f} %", 100.0),
    "k_def": ("creep factor {:.2f} in a dry room", 1.0),
    "k_def_damp": ("creep factor {:.2f} in a damp room", 1.0),
}
"""How a figure of a class is said: words with its unit, and what its SI value is multiplied by."""


@dataclass(frozen=True, slots=True)
class Grade:
    """One class of a board.

    Attributes
    ----------
    standard, name : str [-]
        Who defines it, and what it is called.
    figure : str [-]
        What its figures are: ``least`` (control at the mill, no design values), ``mean``,
        ``typical`` or ``creep``.
    mark : str [-]
        ``published`` or ``from memory``.
    over, to : float [m]
        Thickness range, without the lower and with the upper end; 0 and infinite when any.
    figures : dict of str to float [SI, unit of the key]
        Its figures.
    """

    standard: str
    name: str
    figure: str
    mark: str
    over: float = 0.0
    to: float = float("inf")
    figures: dict[str, float] = field(default_factory=dict)

    def told(self) -> str:
        """The class as a source [-]: standard, name, thickness, figures and mark."""
        said = [
            form.format(scale * self.figures[key])
            for key, (form, scale) in WORDS.items()
            if key in self.figures
        ]
        thick = "" if self.over == 0.0 else f" over {1e3 * self.over:g}"
        thick += "" if self.to == float("inf") else f" to {1e3 * self.to:g} mm"
        return f"{self.standard} {self.name}{thick}, {self.figure}: {', '.join(said)} [{self.mark}]"


def grades_of(material: Material, thickness: float | None = None) -> list[Grade]:
    """The classes a board is sold in.

    Parameters
    ----------
    material : Material [-]
        A board of the catalogue, or of the user's own file.
    thickness : float or None [m]
        Only classes that hold for this thickness; None takes all.

    Returns
    -------
    list of Grade [-]
        In the order of the file; empty when none is listed.

    Notes
    -----
    Data: ``facts.grades`` in ``catalogue/data/cores.toml``, each with standard and mark.
    """
    out = []
    for row in material.facts.get("grades", ()):
        grade = Grade(
            str(row["standard"]),
            str(row["class"]),
            str(row["figure"]),
            str(row["mark"]),
            1e-3 * float(row.get("over_mm", 0.0)),
            1e-3 * float(row.get("to_mm", float("inf"))),
            {key: float(row[key]) for key in WORDS if key in row},
        )
        if thickness is None or grade.over < thickness <= grade.to + 1e-9:
            out.append(grade)
    return out
