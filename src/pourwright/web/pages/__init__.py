"""The pages: plain forms that work with scripts off, rendered from `web/templates`.

Map
---
- `render`    from a route to a page: language, units, what every page carries.
- `words`     message catalogues; `show` numbers for people; `forms` fields over a document.
- `choices`   what can be chosen; `marks` checks as bars, shades as a strip.
- `jobs`      list, new, copies.  `history` what each revision changed, undo and redo.
- `site`      place and surfaces.  `finish` look and pictures.
- `surfaces`, `place`, `levels`, `photos`, `outline_in`  parts of `site`.
- `target`, `photo_colour`, `own_shades`, `moves`, `variants`  parts of `finish`.
- `joints`, `prices`  parts of `build`.  `tables` groups of fields from the job's models.
- `build`     core and endurance.  `mix`, `cups` cups.  `day` ribbon and steps.
- `holds`     hold points ticked off.  `lost` a lost day.  `forecast`.  `floor` one step a screen.
- `asked`     long work behind a page.  `sentences` the plan's sentences in the job's units.
- `papers`    papers, `previews` their pictures, client links.  `bench` calculations as forms.
- `record`    what happened.  `entries` what can be written down.  `aftermath` what follows from it.
- `shop`      settings, sign-in.  `client` what a client sees, `proposal` what it is made of.
"""

from __future__ import annotations

from pourwright.web.pages import (
    aftermath,
    bench,
    build,
    client,
    cups,
    day,
    finish,
    floor,
    history,
    holds,
    jobs,
    lost,
    mix,
    papers,
    previews,
    record,
    shop,
    site,
)

error_page = shop.error_page
_SHOP = (shop, jobs, history, bench, client)
_WORK = (
    site,
    finish,
    build,
    mix,
    cups,
    day,
    holds,
    lost,
    floor,
    papers,
    previews,
    record,
    aftermath,
)
routers = [m.router for m in (*_SHOP, *_WORK)]

__all__ = ["error_page", "routers"]
