"""The plan: one facade over all trades and engines, with provenance, ranges and hold points.

Map
---
- `job`        the job file as a model; `load` reads and writes it.
- `context`    what every part shares: materials, survey, air, draws.
- `coats`      poured coats: volumes, shades, batches, sets to buy.
- `edges`      film and run-off on free edges, from the edge engine.
- `clocks`     cure windows turned into the lags that the day needs.
- `days`       coats and schedule together.
- `colours`    swatches, doses cup by cup, sun taken up.
- `finish`     the score, checked against what is mixed; `scenes` what is poured together;
               `picture` draws it, `finish_textures` for models and papers.
- `holds`      hold points as checks; `hold_board`, `hold_vapour` the longer ones.
- `boards`, `place`  parts of the job file: the board under the pour, where the pieces go.
- `core`       core parts, joints and cut plan.
- `endurance`  build-ups and endurance checks; `weights` weights and where they rest, `other_boards`
               the same pieces on other boards; `board_advice` which of them would help.
- `advice`     every check as a plain question and answer; `figures` its numbers, `text_build` its
               part of plan.md.
- `cares`      the three things that need most care.
- `ribbon`     the day ribbon of each pour; `drawings` all drawings of a plan.
- `look`       a look over a job without planning it; `new` a new job file.
- `result`     the plan as plain models; `report` fills them; `text` writes plan.md, `show` numbers.
- `facade`     `plan_job`, `work_out`.
"""

from pourwright.plan.facade import Working, plan_job, work_out
from pourwright.plan.job import Job
from pourwright.plan.load import job_from, load_job, read_job, write_job
from pourwright.plan.result import Plan

__all__ = [
    "Job",
    "Plan",
    "Working",
    "job_from",
    "load_job",
    "plan_job",
    "read_job",
    "work_out",
    "write_job",
]
