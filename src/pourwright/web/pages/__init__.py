"""The pages: plain forms that work with scripts off, rendered from `web/templates`.

Map
---
- `render`    from a route to a page: language, units, what every page carries.
- `words`     message catalogues; `show` numbers for people; `forms` fields over a document.
- `choices`   what can be chosen; `marks` checks as bars, shades as a strip.
- `jobs`      list, new, copies, history.  `site` place and surfaces.  `finish` look and pictures.
- `build`     core and endurance.  `mix` cups.  `day` ribbon and steps.  `floor` one step a screen.
- `papers`    papers and client links.  `record` log.  `bench` every calculation as a form.
- `shop`      settings, sign-in.  `client` what a client sees.
"""

from __future__ import annotations

from pourwright.web.pages import (
    bench,
    build,
    client,
    day,
    finish,
    floor,
    jobs,
    mix,
    papers,
    record,
    shop,
    site,
)

error_page = shop.error_page
routers = [
    m.router
    for m in (shop, jobs, site, finish, build, mix, day, floor, papers, record, bench, client)
]

__all__ = ["error_page", "routers"]
