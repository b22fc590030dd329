"""Film over a free edge: top, round-over, face and the lip below, in the clock of flow.

A 1-D film runs along the profile (per metre of edge). Gravity pulls along the slope, presses on the
top and hangs underneath; surface tension pushes liquid off convex bends. Liquid that hangs below
the face can be only so much: about 2 l_c^2 of cross-section, the rest falls as drops and counts as
run-off. (Both a straight hanging bead with upright flanks, weight 2 gamma per length, and a largest
hanging drop of 19 l_c^3 every 2 pi sqrt(2) l_c give 2 l_c^2; the second from memory. Real lips
differ: the range takes 1 to 3 l_c^2.)

Sources: curvature terms and volume per area as Roy, Roberts and Simpson 2002, J. Fluid Mech. 454,
235 (from memory); thinning on convex corners Schwartz and Weidner 1995, J. Eng. Math. 29, 91;
hanging films Fermigier et al. 1992, J. Fluid Mech. 236, 349.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pourwright.errors import InputError
from pourwright.film.fluid import RESIN, Fluid, need_above, need_between
from pourwright.film.profile import EdgeProfile, has_underside, mesh_of
from pourwright.words import say

__all__ = [
    "HANGING",
    "HANGING_HIGH",
    "HANGING_LOW",
    "EdgeFilm",
    "EdgeProfile",
    "edge_film",
    "edge_run_off",
    "latest_for_edge",
]

_Array = NDArray[np.float64]
NO_FLOW = 1e-6  # flow in which a 20 mm film moves by less than its own roughness [1/Pa]
HANGING = 2.0  # cross-section that hangs, in capillary lengths squared [-]
HANGING_LOW, HANGING_HIGH = 1.0, 3.0  # 5 and 95 % points [-]
_TORCH_GAIN = 10.0  # mobility of a torched edge while the flame is on it [-]


@dataclass(frozen=True)
class EdgeFilm:
    """Film along an edge profile at one or more moments.

    Parameters
    ----------
    s, ds : array (n,) [m]
        Distance along the profile from the inner end of the top, and cell lengths.
    x, y : array (n,) [m]
        Position of the bare surface: x outwards (0 where the round-over begins), y up (0 on top).
    angle : array (n,) [rad]
        Slope: 0 top, pi/2 face, pi underside.
    part : array (n,) of int [-]
        0 top, 1 round-over, 2 face, 3 lip, 4 underside.
    flow : array (k,) [1/Pa]
        Flow used at each moment; the last is gel.
    h : array (k, n) [m]
        Film.
    thinnest : array (k,) [m]
        Thinnest film on the round-over.
    run_off : array (k,) [m2]
        Volume per length that fell off or was wiped away (1e-6 m2 is 1 mL/m).
    hanging : array (k,) [m2]
        Volume per length that hangs at the lip.
    start : float [m2]
        Volume per length at the start.
    """

    s: _Array
    ds: _Array
    x: _Array
    y: _Array
    angle: _Array
    part: NDArray[np.int64]
    kappa: _Array
    flow: _Array
    h: _Array
    thinnest: _Array
    run_off: _Array
    hanging: _Array
    start: float

    @property
    def bead(self) -> float:
        """Thickest film on the lip and underside at the end [m]; of a bead hanging off a bare arris
        the radius of a half circle of its section."""
        low = self.part >= 3
        if low.any():
            return float(self.h[-1, low].max())
        return math.sqrt(2 * float(self.hanging[-1]) / math.pi)

    @property
    def face_film(self) -> float:
        """Film half way down the face at the end [m]; on the round-over if there is no face."""
        on = np.flatnonzero(self.part == 2)
        if not on.size:
            on = np.flatnonzero(self.part == 1)
        return float(self.h[-1, on[on.size // 2]])


def edge_film(
    profile: EdgeProfile,
    film: float,
    flow_left: float,
    fluid: Fluid = RESIN,
    *,
    film_over: float | None = None,
    torch_flow: float = 0.0,
    wipes: Sequence[float] = (),
    moments: ArrayLike | None = None,
    hanging: float = HANGING,
    fine: float = 5e-4,
    change: float = 0.2,
) -> EdgeFilm:
    """Film over a free edge from the moment the liquid is pushed over it until gel.

    Parameters
    ----------
    profile : EdgeProfile [-]
        Section of the edge.
    film : float [m]
        Film on the top when it is pushed over, above 0, at most 20 mm.
    flow_left : float [1/Pa]
        Flow left at that moment, at least 0.
    fluid : Fluid [-]
        Density and surface tension.
    film_over : float or None [m]
        Film drawn over round-over, face and lip by the tool, above 0; None for half of `film`.
    torch_flow : float [1/Pa]
        Extra flow that a torch pass gives the outer 20 mm of the top, the round-over and the face
        right after they are wet; at least 0.
    wipes : sequence of float [1/Pa]
        Flow left each time the underside is wiped, below `flow_left`.
    moments : array or None [1/Pa]
        Flow used at which the film is also wanted; the end is always added.
    hanging : float [-]
        Cross-section that can hang at the lip, in capillary lengths squared.
    fine : float [m]
        Cell length near the bends, 0.05 to 2 mm.
    change : float [-]
        Largest change of the film per time step, 0.01 to 0.5.

    Returns
    -------
    EdgeFilm [m, m2, 1/Pa]
        Films and run-off. Lubrication: read a film thicker than the radius as uncertain, and a
        radius below about 1 mm as bare. Mass is exact to round-off.

    Raises
    ------
    InputError
        A value out of its limits.
    """
    need_between("film", film, 2e-6, 0.02)
    need_between("flow_left", flow_left, 0.0, 1e9, "1/Pa")
    over = 0.5 * film if film_over is None else film_over
    need_between("film_over", over, 1e-6, 0.02)
    need_between("torch_flow", torch_flow, 0.0, 1e6, "1/Pa")
    need_between("hanging", hanging, 0.01, 100.0, "")
    need_between("fine", fine, 5e-5, 2e-3)
    need_between("change", change, 0.01, 0.5, "")
    for w in wipes:
        if not 0 <= w <= flow_left:
            raise InputError(
                "wipes",
                w,
                say("it must lie between 0 and the flow left, {left:g} 1/Pa", left=flow_left),
                "Wipe between pushing over and gel.",
            )
    if flow_left < NO_FLOW:  # nothing moves; steps of such a length would drown in rounding
        flow_left, wipes = 0.0, [0.0 for _ in wipes]
    mesh = mesh_of(profile, fine)
    wanted = {flow_left: 0.0}
    for t in np.atleast_1d(np.asarray([] if moments is None else moments, dtype=float)):
        need_between("moments", float(t), 0.0, max(flow_left, NO_FLOW), "1/Pa")
        wanted.setdefault(min(float(t), flow_left), 0.0)
    for w in wipes:
        wanted[flow_left - float(w)] = 1.0
    ends = np.array(sorted(wanted))
    wipe = np.array([wanted[e] for e in ends])

    n = mesh.ds.size
    gap = np.zeros(n + 1)
    gap[1:-1] = 0.5 * (mesh.ds[1:] + mesh.ds[:-1])
    gap[0], gap[-1] = mesh.ds[0], mesh.ds[-1]
    h0 = np.where(mesh.part == 0, film, over)
    near = (mesh.part > 0) | (mesh.x > -0.02)
    ease = np.where(near & (mesh.angle < 0.75 * math.pi), _TORCH_GAIN, 1.0)
    ease_until = torch_flow / (_TORCH_GAIN - 1.0)
    low = (mesh.part >= 3).astype(float)
    on_arc = np.flatnonzero(mesh.part == 1)
    k = ends.size
    h_out = np.empty((k, n))
    gone, held, thinnest = np.zeros(k), np.zeros(k), np.zeros(k)

    from pourwright.film._edge import run_edge

    run_edge(
        mesh.ds, gap, mesh.y, np.cos(mesh.angle), mesh.kappa, low,
        h0, ease, min(ease_until, flow_left), ends, wipe,
        fluid.weight, fluid.surface_tension, hanging * fluid.capillary_length**2,
        not has_underside(profile), change, h_out, gone, held,
        int(on_arc[0]), int(on_arc[-1]), thinnest,
    )  # fmt: skip
    start = float(np.sum(mesh.ds * (h0 + 0.5 * mesh.kappa * h0**2)))
    return EdgeFilm(
        mesh.s, mesh.ds, mesh.x, mesh.y, mesh.angle, mesh.part, mesh.kappa, ends, h_out,
        thinnest, gone, held, start,
    )  # fmt: skip


def edge_run_off(
    profile: EdgeProfile,
    film: ArrayLike,
    flow_left: ArrayLike,
    density: ArrayLike = RESIN.density,
    surface_tension: ArrayLike = RESIN.surface_tension,
    hanging: ArrayLike = HANGING,
    *,
    film_over: float | None = None,
    fine: float = 1e-3,
) -> _Array:
    """Run-off per length of free edge for many draws of the uncertain inputs.

    Parameters
    ----------
    profile : EdgeProfile [-]
        Section of the edge.
    film : float or array [m]
        Film on the top when it is pushed over.
    flow_left : float or array [1/Pa]
        Flow left at that moment.
    density : float or array [kg/m3]
        Density of the resin.
    surface_tension : float or array [N/m]
        Surface tension, above 0.
    hanging : float or array [-]
        Cross-section that hangs at the lip, in capillary lengths squared.
    film_over : float or None [m]
        As in `edge_film`.
    fine : float [m]
        Cell length near the bends; 1 mm is within a few per cent of 0.25 mm.

    Returns
    -------
    array [m2]
        Volume per length that falls off, one entry per draw (1e-6 m2 is 1 mL/m).

    Raises
    ------
    InputError
        A value out of its limits.
    """
    arrays = np.broadcast_arrays(
        *(
            np.atleast_1d(np.asarray(a, dtype=float))
            for a in (film, flow_left, density, surface_tension, hanging)
        )
    )
    need_above("surface_tension", arrays[3], 0.0, "N/m")
    out = np.empty(arrays[0].shape)
    for at in np.ndindex(out.shape):
        f, t, rho, gamma, hang = (float(a[at]) for a in arrays)
        done = edge_film(
            profile,
            f,
            t,
            Fluid(rho, gamma),
            film_over=film_over,
            hanging=hang,
            fine=fine,
            change=0.4,
        )
        out[at] = done.run_off[-1]
    return out


def latest_for_edge(
    profile: EdgeProfile,
    film: float,
    flow_left: float,
    wanted: float,
    fluid: Fluid = RESIN,
    *,
    film_over: float | None = None,
) -> float:
    """Most flow left at which an edge can be pushed over and still keep a film on its round-over.

    Parameters
    ----------
    profile : EdgeProfile [-]
        Section of the edge.
    film : float [m]
        Film on the top.
    flow_left : float [1/Pa]
        Most flow left that can be considered (now).
    wanted : float [m]
        Film wanted at the thinnest point of the round-over, above 0.
    fluid : Fluid [-]
        Density and surface tension.
    film_over : float or None [m]
        As in `edge_film`.

    Returns
    -------
    float [1/Pa]
        Push over once flow left has fallen to this; 0 when even a film about to gel is too thin.

    Raises
    ------
    InputError
        A value out of its limits.
    """
    need_above("wanted", wanted)
    moments = np.geomspace(1e-3, max(flow_left, 2e-3), 60)
    done = edge_film(profile, film, moments[-1], fluid, film_over=film_over, moments=moments)
    enough = np.flatnonzero(np.minimum.accumulate(done.thinnest) >= wanted)
    if not enough.size:
        return 0.0
    return float(min(done.flow[enough[-1]], flow_left))
