"""The calculations `mix.volume`, `mix.short`, `mix.batch` and `mix.sets`, registered on import."""

from pourwright.mix.calc_batch import mix_batch
from pourwright.mix.calc_need import mix_short, mix_volume
from pourwright.mix.calc_sets import mix_sets

__all__ = ["mix_batch", "mix_sets", "mix_short", "mix_volume"]
