"""Papers (shelves): printed documents made with typst as tagged PDF, all data passed as JSON.

Map
---
- `pack`      `papers_of`: every paper by itself, and all of them as one pack.
- `quote`     the quote.  `costsheet` for the shop.  `board` approval.  `shopping` by supplier.
- `cuts`      the cut plan.  `cups` cards and labels.  `runsheet` sheets for each day.
- `checks`    what to change, hold points, endurance.  `safety`.  `care` handover.  `jobrecord` to fill in.
- `bought`, `costing`  the plan handed to the price room.  `options` the job otherwise, planned again.
- `pastes`    pigment pastes of cups, neat and pre-diluted.
- `wording`   the job's language and units: every sentence and number of a paper.
- `frame`     what every paper carries.  `buildup`, `qr` drawings.
- `plain`     text made fit for a page.  `typeset` compiling, fonts from the typesetter itself.
- `templates` the typst templates and the house style.
"""

from pourwright.papers.costing import Costing, cost_job
from pourwright.papers.options import Priced, price_options
from pourwright.papers.pack import PACK, PAPERS, paper, papers_of

__all__ = [
    "PACK",
    "PAPERS",
    "Costing",
    "Priced",
    "cost_job",
    "paper",
    "papers_of",
    "price_options",
]
