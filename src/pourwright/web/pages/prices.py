"""Prices and terms: what an hour, a trip and each thing to buy costs, mark-up, tax, stages."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from fastapi import APIRouter, Request, Response

from pourwright import catalogue
from pourwright.errors import InputError
from pourwright.store.jobs import JobState
from pourwright.web import deps
from pourwright.web.pages.forms import dimension_of, get, put, shown, taken
from pourwright.web.pages.render import base_of, fields, on_to, show_for
from pourwright.web.pages.show import Show

router = APIRouter()
MONEY = ("hourly", "overhead")
RATES = ("per_distance",)
PLAIN = ("number", "tax_name")
AMOUNTS = ("distance_km", "distance_mi", "round_price_to")
QUANTITIES = ("travel_time", "paid_wait", "least_visit", "left_over_credit", "markup", "cover",
              "lost_day_chance", "tax")  # fmt: skip
NUMBERS = ("trips", "valid_days")
GROUPS = {
    "work": ("hourly", "overhead", "paid_wait", "least_visit"),
    "travel": ("distance_km", "distance_mi", "per_distance", "travel_time", "trips"),
    "price": ("markup", "cover", "lost_day_chance", "left_over_credit", "round_price_to"),
    "paper": ("number", "tax", "tax_name", "valid_days"),
}
"""Fields in the order of the form, under their headings."""
MOST_STAGES = 6


def field_views(document: Mapping[str, Any], show: Show) -> list[dict[str, Any]]:
    """The groups of fields of the price form [-], labels and help in the language of `show`.

    Distance stands in km or miles, after the units of the job `document`.
    """
    w = show.words
    skip = "distance_km" if show.units == "us" else "distance_mi"
    if get(document, f"price.{skip}") is not None:
        skip = "distance_mi" if skip == "distance_km" else "distance_km"
    return [
        {
            "title": w(f"price.group_{group}"),
            "fields": [
                {
                    "path": f"price.{n}", "label": w(f"price.{n}"), "help": w(f"price.{n}_help"),
                    "value": value_of(document, n, show),
                    "dimension": (dimension_of(f"price.{n}") or "") if n in QUANTITIES else "",
                }
                for n in names if n != skip
            ],
        }
        for group, names in GROUPS.items()
    ]  # fmt: skip


def value_of(document: Mapping[str, Any], name: str, show: Show) -> str:
    """What the price field `name` [-] shows of a normal `document`, as `show` writes it."""
    value = get(document, f"price.{name}")
    if value is None:
        return ""
    if name in QUANTITIES:
        return shown(value, f"price.{name}", show)
    if name in (*MONEY, *RATES, *AMOUNTS):
        return comma(str(value), show)
    return str(value)


def things_of(plan: Mapping[str, Any] | None, document: Mapping[str, Any]) -> list[str]:
    """Catalogue ids [-] of what a job buys, out of its `plan`, and of its own prices in `document`."""
    found: list[str] = []
    if plan:
        for p in plan["purchases"]:
            found += list(p["sets"])
        if plan.get("cut"):
            found += list(plan["cut"]["sheets"])
        found += [p["material"] for p in plan["paints"]]
        for s in plan["shades"]:
            found += _pastes(str(s["id"]))
    found += list(get(document, "price.own_prices", {}) or {})
    return list(dict.fromkeys(found))


def _pastes(shade: str) -> list[str]:
    try:
        facts = catalogue.get(shade, "shade").facts
    except InputError:
        return []
    return [str(k) for k in facts.get("paste_g_per_kg", {})]


def own_views(
    things: Iterable[str], document: Mapping[str, Any], show: Show
) -> list[dict[str, Any]]:
    """Rows of the shop's own prices for `things` [-], with the catalogue's figure beside each.

    `document` is the job's in normal form; numbers as `show` writes them.
    """
    own = get(document, "price.own_prices", {}) or {}
    rows = []
    for ident in things:
        name, usual = ident, ""
        try:
            m = catalogue.get(ident)
            name = m.name
            if m.price is not None:
                usual = show.words("price.usual", price=str(m.price.middle), per=m.price.per)
        except InputError:
            pass
        text = str(own.get(ident, ""))
        rows.append({"id": ident, "name": name, "usual": usual,
                     "value": comma(text, show)})  # fmt: skip
    return rows


def money_from(text: str, field: str, currency: str, show: Show) -> str | None:
    """Money as the job file writes it [-], from what was typed; a bare number is `currency`.

    Raises `InputError` at the `field`; `show` says how decimals are written.
    """
    from pourwright.quantities.money import read_money

    text = " ".join(text.split())
    return str(read_money(text, field, show.locale, currency)) if text else None


def amount_from(text: str, field: str, show: Show) -> str:
    """A plain amount as the job file writes it [-], from what was typed as `show` writes it.

    Raises `InputError` at the `field`.
    """
    from pourwright.quantities.money import read_money

    try:
        found = read_money(" ".join(text.split()), field, show.locale, "EUR")
    except InputError as err:
        raise InputError(
            field, err.value, err.limit, "Write a number, for example 12.50."
        ) from None
    return f"{found.amount:f}"


def priced(document: dict[str, Any], posted: Mapping[str, str], show: Show) -> dict[str, Any]:
    """A normal `document` [-] with the price form that was `posted` put in, read as `show` says.

    Raises `InputError` at the field.
    """
    currency = str(get(document, "show.currency", "EUR"))
    for names in GROUPS.values():
        for name in names:
            path = f"price.{name}"
            if path not in posted:
                continue
            text = " ".join(posted[path].split())
            if text == value_of(document, name, show):
                continue
            put(document, path, _value(text, name, path, currency, show))
    own = dict(get(document, "price.own_prices", {}) or {})
    for key, text in posted.items():
        if not key.startswith("price.own_prices."):
            continue
        ident = key.removeprefix("price.own_prices.")
        if not text.strip():
            own.pop(ident, None)
        elif text.strip() != comma(str(own.get(ident, "")), show):
            catalogue_has(ident, key)
            own[ident] = money_from(text, key, currency, show)
    other, cost = posted.get("price.other", "").strip(), posted.get("price.other_price", "")
    if other and cost.strip():
        catalogue_has(other, "price.other")
        own[other] = money_from(cost, "price.other_price", currency, show)
    elif cost.strip():
        raise InputError("price.other", "", "it says not for what", "Choose what it is for.")
    if own or get(document, "price.own_prices"):
        put(document, "price.own_prices", own)
    _stages(document, posted, show)
    _exchange(document, posted, show)
    if "price.not_included" in posted:
        lines = [" ".join(x.split()) for x in posted["price.not_included"].splitlines()]
        if [x for x in lines if x] != (get(document, "price.not_included", []) or []):
            put(document, "price.not_included", [x for x in lines if x])
    return document


def catalogue_has(ident: str, field: str) -> None:
    """Refuse an own price for something `ident` [-] that is not in the catalogue, at `field`."""
    try:
        catalogue.get(ident)
    except InputError as err:
        raise InputError(field, ident, err.limit, err.remedy) from None


def _value(text: str, name: str, path: str, currency: str, show: Show) -> Any:
    if not text:
        return None
    if name in MONEY:
        return money_from(text, path, currency, show)
    if name in RATES:
        from pourwright.quantities.prices import read_price

        try:
            return str(read_price(text, locale=show.locale))
        except InputError as err:
            raise InputError(path, err.value, err.limit, err.remedy) from None
    if name in AMOUNTS:
        return amount_from(text, path, show)
    if name in PLAIN:
        return text
    return taken(text, path, show)


def _stages(document: dict[str, Any], posted: Mapping[str, str], show: Show) -> None:
    if "price.stages.0.name" not in posted:
        return
    old = stages_of(document)
    made: list[dict[str, Any]] = []
    for k in range(MOST_STAGES):
        name = " ".join(posted.get(f"price.stages.{k}.name", "").split())
        share = posted.get(f"price.stages.{k}.share", "").strip()
        if not name and not share:
            continue
        before = old[k] if k < len(old) else {}
        same = name == before.get("name") and share == shown(before.get("share"), "share", show)
        made.append(before if same else {
            "name": name, "share": taken(share, f"price.stages.{k}.share", show, "share")
        })  # fmt: skip
    if made != old and made:
        put(document, "price.stages", made)


def stages_of(document: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Stages of payment [-] that a normal `document` states, or the usual ones."""
    from pourwright.price import PriceSpec

    found = get(document, "price.stages")
    usual = [s.model_dump(mode="json") for s in PriceSpec().stages]
    return list(usual if found is None else found)


def comma(text: str, show: Show) -> str:
    """A decimal number with the mark of the language of `show` [-]."""
    return text.replace(".", ",") if show.locale == "de" else text


def _exchange(document: dict[str, Any], posted: Mapping[str, str], show: Show) -> None:
    rates = dict(get(document, "price.exchange", {}) or {})
    code = posted.get("price.exchange_code", "").strip().upper()
    rate = posted.get("price.exchange_rate", "").strip()
    for key, text in posted.items():
        if key.startswith("price.exchange."):
            name = key.rpartition(".")[2]
            if not text.strip():
                rates.pop(name, None)
            elif text.strip() != comma(str(rates.get(name, "")), show):
                rates[name] = amount_from(text, key, show)
    if code and rate:
        rates[code] = amount_from(rate, "price.exchange_rate", show)
    if rates or get(document, "price.exchange"):
        put(document, "price.exchange", rates)


def views(
    plan: Mapping[str, Any] | None, document: Mapping[str, Any], show: Show
) -> dict[str, Any]:
    """All that the form of prices shows [-], from the `plan` and the normal `document`."""
    stages = stages_of(document)
    rates = get(document, "price.exchange", {}) or {}
    listed = [(m.id, m.name) for kind in ("set", "sheet", "primer", "topcoat", "colorant",
              "consumable") for m in catalogue.of_kind(kind) if m.price is not None]  # fmt: skip
    return {
        "groups": field_views(document, show),
        "own": own_views(things_of(plan, document), document, show),
        "listed": sorted(listed, key=lambda x: x[1]),
        "stages": [{"name": s["name"], "share": shown(s["share"], "share", show)} for s in stages],
        "exchange": {k: comma(str(v), show) for k, v in rates.items()},
        "not_included": "\n".join(get(document, "price.not_included", []) or []),
        "stated": get(document, "price") is not None,
        "currency": get(document, "show.currency", "EUR"),
    }


@router.post("/jobs/{job_id}/prices")
async def save(request: Request, job_id: str) -> Response:
    """Keep prices and terms."""
    from pourwright.store.errors import Stale
    from pourwright.web.pages.edits import changed, refuse

    job: JobState = deps.job(request, job_id)
    posted = await fields(request)
    show = show_for(request, job)
    try:
        why = show.words("why.prices")
        deps.edit(request, job_id, lambda d: changed(d, lambda x: priced(x, posted, show)), why,
                  base_of(posted))  # fmt: skip
    except Stale:
        raise
    except InputError as err:
        return await refuse(request, job, posted, err, screen="build")
    return on_to(f"/jobs/{job_id}/build#b-prices", "saved")
