"""Short cuts of the look-up change nothing that is seen: lattice memory, bins, reach, broad bands."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.colour.colorimetry import xyz_to_lab
from pourwright.colour.difference import delta_e_2000
from pourwright.pattern import pour, read_score, rectangle
from pourwright.pattern.bake import look_up, reached
from pourwright.pattern.layer import Layer
from pourwright.pattern.noise import add_noises, lattice_memory, near_noise, noise
from pourwright.pattern.recipe import evaluate


@given(st.integers(0, 2**31 - 1), st.integers(0, 99))
@settings(max_examples=30, deadline=None)
def test_noise_with_memory_is_the_noise(key: int, seed: int) -> None:
    """At places that follow each other and at places that jump, to rounding."""
    rng = np.random.default_rng(seed)
    places = np.concatenate(
        [rng.uniform(-50, 50, (20, 2)), np.cumsum(rng.normal(0, 0.1, (40, 2)), 0)]
    )
    spots, slopes = lattice_memory(3)
    for x, y in places:
        alone = noise(x, y, key)
        assert abs(near_noise(x, y, key, 2, spots, slopes) - alone) < 1e-12
        out = np.zeros(3)
        add_noises(x, y, key, 2.0, 3, out, 0, spots, slopes)
        assert abs(out[0] - 2 * alone) < 1e-12
        assert abs(out[2] - 2 * noise(x, y, key + 202)) < 1e-12


def _all_in_every_bin(layer: Layer) -> tuple:
    """The layer's recipe with every segment in every bin of one large bin."""
    n = len(layer.lines.seg)
    grid = layer.grid.copy()
    grid[2] *= max(grid[3], grid[4])
    grid[3] = grid[4] = 1
    kind, seg, _, _, _, *rest = layer.recipe()
    return (kind, seg, np.array([0, n]), np.arange(n), grid, *rest)


def test_bins_leave_out_only_what_no_place_needs(small) -> None:
    """Asked through its bins and through all segments, a layer answers alike.

    Two thousand places per layer; alike to rounding, but for at most 1 in 200 of them, on the inner
    side of a bend sharper than the line is broad, where no segment's normal passes and the nearest
    end of any is taken.
    """
    rng = np.random.default_rng(3)
    n = 2000
    x, y = rng.uniform(0, 0.3, n), rng.uniform(0, 0.2, n)
    foot = np.zeros((n, 6))
    foot[:, [0, 2, 3, 5]] = 0.001**2 / 12
    need = np.ones(n, bool)
    lined = [layer for layer in small.layers if len(layer.lines.seg)]
    assert lined
    for layer in lined:
        m = len(layer.shades)
        got, want = ((np.zeros(n), np.zeros((n, m))) for _ in range(2))
        evaluate(x, y, foot, need, layer.recipe(), *got)
        evaluate(x, y, foot, need, _all_in_every_bin(layer), *want)
        assert (want[0] > 0).any()
        other = np.abs(got[0] - want[0]) > 1e-9
        other |= np.abs(got[1] - want[1]).max(1) > 1e-6
        assert other.mean() <= 0.005
        assert layer.items.size < 0.2 * len(layer.lines.seg) * layer.grid[3] * layer.grid[4]


def test_drawn_out_rims_hang_together(data) -> None:
    """However far rims are drawn out, nothing shows that does not touch its own line.

    A line that bends and swells: a place beside a thin part of it must not be taken for one beside
    a swelling further along, which would dot the picture with beads beside the seam.
    """
    from scipy.ndimage import label

    rough = {"width_mm": 44, "length_mm": 400, "wobble": 1.0, "pulse": 0.8, "turn_deg": 60}
    moves = [data["moves"][0], {**data["moves"][1], **rough}]
    score = read_score({**data, "moves": moves})
    n, m = 600, 400
    x, y = (
        v.ravel() for v in np.meshgrid((np.arange(n) + 0.5) * 5e-4, (np.arange(m) + 0.5) * 5e-4)
    )
    need = np.ones(n * m, bool)
    lone = 0
    for seed in range(4):
        layer = pour(score, rectangle(0.3, 0.2), 0.003, cell=0.01, seed=seed).layers[1]
        seen = []
        for breadth in (5e-4, 0.012):
            foot = np.zeros((n * m, 6))
            foot[:, [0, 2, 3, 5]] = breadth**2 / 12
            thick, part = np.zeros(n * m), np.zeros((n * m, len(layer.shades)))
            evaluate(x, y, foot, need, layer.recipe(), thick, part)
            seen.append(thick.reshape(m, n) > 0)
        assert seen[1].sum() > 1.02 * seen[0].sum()  # rims are drawn out
        patches, count = label(seen[1], np.ones((3, 3)))
        rim = np.concatenate([patches[0], patches[-1], patches[:, 0], patches[:, -1]])
        lone += count - len((set(patches[seen[0]].tolist()) | set(rim.tolist())) - {0})
    assert lone == 0


def test_what_is_out_of_reach_shows_nothing(small) -> None:
    """Looked up everywhere, less than 1 in 500 of a layer's volume lies where it is not looked for."""
    gx, gy = np.meshgrid((np.arange(300) + 0.5) * 1e-3, (np.arange(200) + 0.5) * 1e-3)
    px, py = gx.ravel(), gy.ravel()
    with_reach = [t.sum() for _, t, _ in look_up(small, px, py, 0.001)]
    kept = {k: reached(small, k) for k in range(len(small.layers))}
    assert not all(v[small.grid.wet].all() for v in kept.values())
    try:
        small.near = {k: np.ones_like(v) for k, v in kept.items()}
        everywhere = [t.sum() for _, t, _ in look_up(small, px, py, 0.001)]
    finally:
        small.near = kept
    assert np.allclose(with_reach, everywhere, rtol=0.002)


def test_broad_bands_cannot_be_told(small, primer) -> None:
    """20 nm bands against 10 nm, with the demo's shades: below 0.5 dE00 in the mean, 1 at most.

    1 dE00 is about the least difference seen side by side (common practice).
    """
    from pourwright.colour.recipe import demo_shade
    from pourwright.colour.render import MapLayer, map_reflectance_xyz

    shades = [demo_shade(n) for n in ("sea-green", "slate", "copper")]
    rng = np.random.default_rng(1)
    share = np.moveaxis(rng.dirichlet([0.5, 0.5, 0.5], (50, 50)), 2, 0)
    stack = [MapLayer(shades, t * np.abs(rng.normal(size=(50, 50))), share) for t in (4e-4, 2e-4)]
    fine, broad = (map_reflectance_xyz(stack, primer, step_nm=n) for n in (10, 20))
    apart = delta_e_2000(xyz_to_lab(fine), xyz_to_lab(broad))
    assert 0 < apart.mean() < 0.5
    assert apart.max() < 1.0
