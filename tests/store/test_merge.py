"""Two changes of one job put together, or refused where they contradict."""

from __future__ import annotations

import copy

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.errors import InputError
from pourwright.store.errors import Stale
from pourwright.store.merge import Contradiction, merged

BASE = {
    "revision": 3,
    "name": "Bar",
    "site": {"air": {"warmest": "29 degC", "coolest": "23 degC"}, "start": "2027-08-09"},
    "surfaces": [{"name": "b", "size": ["1 m", "1 m"]}, {"name": "1", "size": ["1 m", "1 m"]}],
}
leaves = st.one_of(st.integers(0, 3), st.text("ab", max_size=1), st.lists(st.integers(0, 2)))
tables = st.recursive(leaves, lambda x: st.dictionaries(st.sampled_from("pqrs"), x, max_size=3))
documents = st.dictionaries(st.sampled_from(["one", "two", "three"]), tables, max_size=3)


def changed(document, *path_and_value):
    *path, value = path_and_value
    made = copy.deepcopy(document)
    at = made
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = value
    return made


def test_changes_in_different_places_both_count():
    mine = changed(BASE, "site", "air", "warmest", "31 degC")
    theirs = changed(changed(BASE, "site", "air", "coolest", "20 degC"), "revision", 4)
    both = merged(BASE, mine, theirs)
    assert both["site"]["air"] == {"warmest": "31 degC", "coolest": "20 degC"}
    assert both["revision"] == 4


def test_surfaces_are_told_apart_by_their_names():
    mine = changed(BASE, "surfaces", 0, "size", ["2 m", "1 m"])
    theirs = {**BASE, "surfaces": [BASE["surfaces"][1], {"name": "new", "size": ["3 m", "1 m"]}]}
    with pytest.raises(Contradiction, match=r"surfaces\.b"):
        merged(BASE, mine, theirs)
    theirs["surfaces"].append(BASE["surfaces"][0])
    both = merged(BASE, mine, theirs)["surfaces"]
    assert [s["name"] for s in both] == ["1", "new", "b"] and both[2]["size"][0] == "2 m"


def test_a_renamed_piece_keeps_its_place():
    base = {"surfaces": [{"name": "top"}, {"name": "board"}]}
    mine = {"surfaces": [{"name": "bar-1"}, {"name": "board"}, {"name": "bar-2"}]}
    theirs = {"surfaces": [{"name": "top"}, {"name": "board"}, {"name": "end"}]}
    names = [s["name"] for s in merged(base, mine, theirs)["surfaces"]]
    assert names == ["bar-1", "board", "bar-2", "end"]


def test_the_same_thing_changed_twice_is_a_contradiction():
    with pytest.raises(Contradiction) as caught:
        merged(BASE, changed(BASE, "name", "A"), changed(BASE, "name", "B"))
    assert caught.value.path == "name"
    assert merged(BASE, changed(BASE, "name", "A"), changed(BASE, "name", "A"))["name"] == "A"


@settings(deadline=None, max_examples=100)
@given(base=documents, mine=documents, theirs=documents)
def test_merging_is_fair(base, mine, theirs):
    """Nothing against nothing changes nothing; who comes first does not matter."""
    assert merged(base, mine, base) == mine
    assert merged(base, base, theirs) == theirs
    assert merged(base, mine, mine) == mine

    def tried(a, b):
        try:
            return merged(base, a, b)
        except Contradiction:
            return "contradiction"

    assert tried(mine, theirs) == tried(theirs, mine)
    both = tried(mine, theirs)
    if both != "contradiction":
        for key in {*base, *mine, *theirs}:
            if mine.get(key) == base.get(key) and (key in mine) == (key in base):
                assert both.get(key) == theirs.get(key)


def test_a_form_made_earlier_is_put_on_top_of_what_was_saved_since(store, document):
    """The drawing was saved by itself while somebody filled in the form below it."""
    job = store.jobs.create(document)
    drawn = copy.deepcopy(document)
    drawn["surfaces"][0]["size"] = ["700 mm", "400 mm"]
    store.jobs.save(job.id, 1, drawn)
    made = store.jobs.change(job.id, lambda d: {**d, "client": "Example cafe"}, base=1)
    assert made.revision == 3 and made.document["client"] == "Example cafe"
    assert made.document["surfaces"][0]["size"] == ["700 mm", "400 mm"]


def test_a_form_that_contradicts_is_stale_with_both(store, document):
    job = store.jobs.create(document)
    store.jobs.save(job.id, 1, {**document, "client": "Theirs"})
    with pytest.raises(Stale) as caught:
        store.jobs.change(job.id, lambda d: {**d, "client": "Mine"}, base=1)
    assert caught.value.field == "client"
    assert caught.value.yours["client"] == "Mine" and caught.value.theirs["client"] == "Theirs"
    assert store.jobs.get(job.id).revision == 2


def test_a_form_that_is_wrong_in_itself_says_so(store, document):
    job = store.jobs.create(document)
    store.jobs.save(job.id, 1, {**document, "client": "Theirs"})
    with pytest.raises(InputError) as caught:
        store.jobs.change(job.id, lambda d: {**d, "samples": "many"}, base=1)
    assert not isinstance(caught.value, Stale) and "samples" in caught.value.line()


def test_changes_that_only_clash_together_are_refused_with_both(store, document):
    """Each is a job by itself; both together are none: nights warmer than days."""
    job = store.jobs.create(document)

    def air(d, **values):
        return {**d, "site": {**d["site"], "air": {**d["site"]["air"], **values}}}

    store.jobs.save(job.id, 1, air(document, warmest="18 degC", coolest="10 degC"))
    store.jobs.save(job.id, 2, air(document, warmest="12 degC", coolest="10 degC"))
    with pytest.raises(Stale) as caught:
        store.jobs.change(job.id, lambda d: air(d, coolest="16 degC"), base=2)
    assert caught.value.yours["site"]["air"]["coolest"] == "16 degC"
    assert store.jobs.get(job.id).revision == 3
