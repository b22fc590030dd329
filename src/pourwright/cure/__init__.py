"""Cure (engines): kinetics, heat, viscosity, flow left and windows of a mixed resin.

Everything is a pure function of SI floats and arrays, vectorised over samples: a `Resin` holds n
equally likely sets of constants, and every history, window and answer has one row per sample.

Map
---
- `kinetics`       rate laws (nth order, Kamal, Horie), Arrhenius, closed isothermal forms.
- `gel`            Flory-Stockmayer gel, Miller-Macosko junctions and sol.
- `glass`          DiBenedetto Tg, vitrification, diffusion limits.
- `viscosity`      base viscosity and Castro-Macosko thickening.
- `reaction_heat`  heat of reaction and balance from equivalent weights.
- `resin`          `Resin`, from a catalogue material with `Resin.from_material`.
- `joint`          properties that were learned together are drawn together.
- `history`        `AirHistory`: constant, hourly, a repeating day.
- `cells`, `march` the solver: cells in a line, enthalpy form, own steps per sample.
- `in_air`         films at air temperature, shared steps, thousands of samples.
- `core`           `CoreLayer`: the boards below.
- `layer`          `film_history`: a film, alone or on a layered core.
- `cup`            `cup_history`: resin standing in a cup.
- `pot`            `pour_within`: how soon it must be poured out.
- `runaway`        `largest_safe_cup`, `longest_lasting_batch`, critical Frank-Kamenetskii numbers.
- `conduction`     axisymmetric conduction in a cup, the check of the lumped model.
- `torch`          what a torch pass does to flow left.
- `crossing`       when rows of samples reach a level.
- `limits`         `Limits`, `Thread`: what the finisher asks for.
- `milestones`     when a film has turned to glass, when it has settled.
- `windows`        `windows`, `Window`: what the film allows, from when to when.
- `board`          `match_board`: the moment on site that equals the sample board's.
- `movement`       matching the board by the movement still to come.
- `ratio`          off-ratio mixes: conversion, Tg, sol, soft spots, the cup release check.
- `sheet`, `prior` lines of a data sheet and the plain contradictions; what is known before.
- `forward`        what a resin would write on its data sheet.
- `fit`, `ask`     `fit_sheet`: a resin from a data sheet; `next_figures`: what to ask next.
- `live`           `correct`: the rest of the day after readings on site.
- `calcs`          the calculations ``cure.*``.

For a plan
----------
>>> from pourwright.catalogue import Catalogue
>>> from pourwright.cure import AirHistory, CoreLayer, Resin, film_history, windows
>>> resin = Resin.from_material(Catalogue().get("resin-coating-1to1"))
>>> film = film_history(resin, AirHistory.constant(293.15), 0.0, 0.001)
>>> found = windows(film)
>>> found["recoat"].label
'bonds without sanding'

scipy is loaded only where it is used (`fit`, `conduction`).
"""

from pourwright.cure.core import CoreLayer
from pourwright.cure.cup import EXOTHERM_CAUTION, Cup, CupHistory, cup_history
from pourwright.cure.history import AirHistory
from pourwright.cure.layer import FilmHistory, film_history
from pourwright.cure.limits import Limits, Thread
from pourwright.cure.pot import PourLimit, pour_within
from pourwright.cure.resin import Resin
from pourwright.cure.windows import Window, window_notes, windows

__all__ = [
    "EXOTHERM_CAUTION",
    "AirHistory",
    "CoreLayer",
    "Cup",
    "CupHistory",
    "FilmHistory",
    "Limits",
    "PourLimit",
    "Resin",
    "Thread",
    "Window",
    "cup_history",
    "film_history",
    "pour_within",
    "window_notes",
    "windows",
]
