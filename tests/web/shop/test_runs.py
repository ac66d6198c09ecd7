"""The bench: runs are begun, dressed, signed off, and their pairs recorded one by one."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select

from portal.db.runs import BenchRun, RunPair
from portal.domain.bookings import Stage
from portal.domain.planning.promise import Place
from portal.domain.runs import Cut, PairState
from portal.domain.tags import tag_of
from portal.queries import bookings as find_bookings
from portal.queries import grinds as find_grinds
from portal.queries import runs as find_runs
from portal.services import run_pairs, stones
from tests import make
from tests.cast import Cast
from tests.documents.reading import text_of
from tests.page import Page, Visitor
from tests.web.shop.conftest import Booked, Desk
from tests.web.shop.planned import accepted, dressed

JSON = {"Accept": "application/json"}


def the_run(desk: Desk) -> BenchRun:
    """The one run there is."""
    number = desk.read(lambda session: session.scalars(select(BenchRun.id)).one())
    found: BenchRun = desk.read(find_runs.one, number)
    return found


def stage_of(desk: Desk, booked: Booked) -> Stage:
    stage: Stage = desk.read(find_bookings.whole, booked.id).items[0].stage
    return stage


def begun(tina: Visitor) -> Page:
    return tina.send(tina.get("/shop/bench"), "begin")


def walked_to_the_pairs(tina: Visitor) -> Page:
    page = begun(tina)
    page = tina.send(page, "dress", **{"dress-diamond": "other"})
    return tina.send(page, "sign-off", **{"cut-depth_um": "11,5 µm", "cut-seen": "Even."})


def one_step(desk: Desk, **given: Any) -> tuple[Booked, int]:
    """A pair that is on the stone for its last step, and its number in the run."""
    booked = desk.checked_in(**given)
    return booked, desk.on_stone(booked)[1]


def form_of(pair: int, **given: str) -> dict[str, str]:
    return {
        f"p{pair}-key": f"key of {pair} {make.next_number()}",
        **{f"p{pair}-{k}": v for k, v in given.items()},
    }


def test_a_day_without_work_says_how_runs_come(tina: Visitor, desk: Desk) -> None:
    page = tina.get("/shop/bench")
    assert page.h1 == "The bench: Mon 7 December 2026"
    assert "No run was begun." in page.text
    assert "No other pair that is here waits for the stone." in page.text


def test_a_run_is_walked_from_the_bench_to_the_record(tina: Visitor, desk: Desk) -> None:
    booked = desk.checked_in()
    page = begun(tina)
    run = the_run(desk)
    assert page.response.request.path == f"/shop/bench/runs/{run.id}"
    assert "To be dressed" in page.text
    assert not [form for form in page.all("form") if "done" in (form.get("action") or "")]
    page = tina.send(page, "dress", **{"dress-diamond": "other"})
    assert "Test cut to be looked at" in page.text
    assert not [form for form in page.all("form") if "done" in (form.get("action") or "")]
    page = tina.send(page, "sign-off", **{"cut-pitch_mm": "0.6"})
    assert "The pairs can be ground" in page.text
    steps = 0
    while stage_of(desk, booked) is not Stage.GROUND:
        steps += 1
        page = tina.send(page, "done")
        if stage_of(desk, booked) is not Stage.GROUND:
            page = walked_to_the_pairs(tina)
    assert "is done" in page.text
    (grind,) = desk.read(find_grinds.of_pair, booked.pair_id)
    assert grind.technician == "Tina"
    assert len(desk.read(find_runs.done_of_item, booked.item_id)) == steps


def test_the_plan_offers_its_runs_of_today_in_order(tina: Visitor, desk: Desk, cast: Cast) -> None:
    dressed(desk)
    first, second = desk.checked_in(), desk.checked_in(structure=1)
    for one in (first, second):
        desk.do(stones.pin, cast.tina, one.item_id, Place(make.TODAY, 0))
    accepted(desk)
    page = tina.get("/shop/bench")
    assert "Next in the stone plan" in page.text
    assert "No other pair that is here waits" in page.text
    names = [one.text for one in page.all("form") if "begin" in (one.get("action") or "")]
    assert names
    page = begun(tina)
    run = the_run(desk)
    assert (run.plan_run, run.plan_id is not None) == (0, True)
    assert {pair.item_id for pair in run.pairs} <= {first.item_id, second.item_id}
    # Beginning it on a second tablet leads to the same run.
    data = {"plan": str(run.plan_id), "number": "0", "key": "another tablet"}
    again = tina.post("/shop/bench/begin", data)
    assert again.response.request.path == f"/shop/bench/runs/{run.id}"


def test_the_settings_of_a_dressing_are_kept_as_they_were(tina: Visitor, desk: Desk) -> None:
    desk.checked_in()
    page = begun(tina)
    fields = page.form("dress")
    page = tina.send(
        page, "dress", **{"dress-diamond": "other", "dress-depth_um": "9.5", "dress-remarks": "Slow."}
    )
    dressing = the_run(desk).dressing
    assert dressing is not None
    assert dressing.settings is not None
    assert fields["dress-depth_um"] != "9.5"
    assert dressing.settings["dressing"]["depth_um"] == 9.5
    assert "9.5 µm" in page.text
    assert (dressing.remarks, dressing.dressed_by) == ("Slow.", "Tina")


def test_a_rejected_test_cut_asks_for_a_new_dressing(tina: Visitor, desk: Desk) -> None:
    desk.checked_in()
    page = tina.send(begun(tina), "dress", **{"dress-diamond": "other"})
    page = tina.send(page, "reject", **{"reject-listed": "shallow", "reject-own": "At the edge."})
    assert "To be dressed again" in page.text
    assert "The pattern is too shallow." in page.text
    tina.send(page, "dress", **{"dress-diamond": "other"})
    assert [one.cut for one in the_run(desk).dressings] == [Cut.REJECTED, Cut.WAITING]


def test_wrong_answers_say_what_to_do(tina: Visitor, desk: Desk) -> None:
    desk.checked_in()
    page = begun(tina)
    wrong = tina.send(
        page, "dress", **{"dress-diamond": "", "dress-depth_um": "deep", "dress-remarks": "Kept words"}
    )
    assert wrong.errors == [
        "Choose the diamond that the stone was dressed with",
        "Dressing depth: enter digits only, with a decimal comma or point",
    ]
    assert "Kept words" in wrong.text
    page = tina.send(page, "dress", **{"dress-diamond": "other"})
    assert tina.send(page, "sign-off").errors == ["Enter what you measured, or write what you looked at"]
    assert tina.send(page, "reject").errors == ["Choose a reason from the list, or write your own"]


def test_what_was_measured_of_a_pair_must_fit(tina: Visitor, desk: Desk) -> None:
    _booked, pair = one_step(desk)
    page = tina.get(f"/shop/bench/runs/{the_last_run(desk)}")
    for given, said in (
        (
            {"before_tip": "1100", "after_tip": "1101"},
            "Measure the tip again: 1101 µm after the grind is more than 1100 µm before it",
        ),
        (
            {"before_tail": "1100", "after_tail": "1050", "removed_tail": "40"},
            "Measure the tail again: 40 µm taken off 1100 µm does not leave 1050 µm",
        ),
        ({"before_middle": "99"}, "Enter a number from 100 to 3000"),
        ({"zone_2": "5"}, "Enter a number from 10 to 2000"),
    ):
        wrong = tina.send(
            page,
            "done",
            **{f"p{pair}-{name}": value for name, value in given.items()},
            **{f"p{pair}-remarks": "Kept words"},
        )
        assert wrong.errors == [said]
        assert "Kept words" in wrong.text
    right = {"before_tip": "1100", "removed_tip": "40", "zone_1": "250 N", "remarks": "Even."}
    tina.send(page, "done", **{f"p{pair}-{name}": value for name, value in right.items()})
    (grind,) = desk.read(find_grinds.of_pair, _booked.pair_id)
    assert (grind.before_tip_um, grind.after_tip_um, grind.remarks) == (1100, 1060, "Even.")


def the_last_run(desk: Desk) -> int:
    found: int = desk.read(
        lambda session: session.scalars(select(BenchRun.id).order_by(BenchRun.id.desc())).first()
    )
    return found


def test_a_pair_is_taken_out_put_back_and_undone(tina: Visitor, desk: Desk) -> None:
    booked, pair = one_step(desk)
    run = the_last_run(desk)
    page = tina.get(f"/shop/bench/pairs/{pair}/take-out")
    assert tina.send(page).errors == ["Choose a reason from the list, or write your own"]
    page = tina.send(page, listed="thin")
    assert "is taken out of the run" in page.text
    assert "The base is thinner than it was measured." in page.text
    tina.get(f"/shop/bench/pairs/{pair}/take-out", status=409)
    page = tina.send(tina.get(f"/shop/bench/runs/{run}"), "put-back")
    page = tina.send(page, "done")
    assert stage_of(desk, booked) is Stage.GROUND
    page = tina.send(page, "undo")
    assert "is undone" in page.text
    assert stage_of(desk, booked) is Stage.CHECKED_IN
    assert desk.read(find_grinds.of_pair, booked.pair_id) == []
    history = tina.get(f"/shop/bookings/{booked.id}").text
    assert "Record of the grind undone" in history


def test_a_scanned_tag_opens_its_pair(tina: Visitor, desk: Desk, cast: Cast) -> None:
    booked, pair = one_step(desk)
    run = the_last_run(desk)
    page = tina.get(f"/shop/bench/runs/{run}?code={tag_of(booked.pair_id)}")
    assert page.response.request.args["pair"] == str(pair)
    page = tina.get(f"/shop/bench/runs/{run}?code={tag_of(cast.pair_id)}")
    assert page.errors == ["No pair of this run has this code. Scan it again, or add the pair below"]


def test_a_pair_is_added_by_its_tag(tina: Visitor, desk: Desk) -> None:
    desk.checked_in()
    page = begun(tina)
    late = desk.checked_in()
    assert tina.send(page, "add", **{"add-code": "KKK"}).errors == [
        "No pair has this code. Scan it again, or compare it with the tag sign by sign"
    ]
    page = tina.send(page, "add", **{"add-code": tag_of(late.pair_id)})
    assert "The pair is added to the run." in page.text
    assert len(the_run(desk).pairs) == 2


def test_the_script_is_answered_with_data(tina: Visitor, desk: Desk) -> None:
    booked, pair = one_step(desk)
    path = f"/shop/bench/pairs/{pair}/done"
    sent = {**form_of(pair), "csrf_token": tina.token()}
    wrong = tina.client.post(path, data={**sent, f"p{pair}-before_tip": "1"}, headers=JSON)
    assert wrong.status_code == 422
    assert wrong.get_json() == {"problems": [[f"p{pair}-before_tip", "Enter a number from 100 to 3000"]]}
    for _ in range(2):
        answer = tina.client.post(path, data=sent, headers=JSON)
        assert answer.status_code == 200
        assert "is done" in answer.get_json()["told"]
    assert len(desk.read(find_grinds.of_pair, booked.pair_id)) == 1
    other = tina.client.post(path, data={**sent, f"p{pair}-key": "a second tablet"}, headers=JSON)
    assert other.status_code == 409
    assert other.get_json() == {"refused": "This pair is done already."}


def test_what_another_tablet_was_faster_with_is_not_lost(tina: Visitor, desk: Desk, cast: Cast) -> None:
    _booked, pair = one_step(desk)
    page = tina.get(f"/shop/bench/runs/{the_last_run(desk)}")
    desk.do(run_pairs.done, cast.mia, pair, run_pairs.DoneFacts(), key="the other tablet")
    page = tina.send(
        page, "done", **{f"p{pair}-before_tip": "1200", f"p{pair}-remarks": "A scratch."}, status=409
    )
    assert "1200 / – / –" in page.text
    assert "A scratch." in page.text


def test_the_record_page_leads_to_the_run_while_nothing_is_signed_off(tina: Visitor, desk: Desk) -> None:
    booked = desk.checked_in()
    record = f"/shop/pairs/{booked.item_id}/record"
    page = tina.get(record)
    assert page.response.request.path == "/shop/bench"
    assert "waits in no run for this structure. Begin the run" in page.text
    tina.post(record, status=409)
    begun(tina)
    run = the_run(desk)
    page = tina.get(record)
    assert page.response.request.full_path == f"/shop/bench/runs/{run.id}?pair={run.pairs[0].id}"
    assert "The test cut of this dressing is not signed off." in page.text


def test_another_grinder_has_a_page_of_its_own(tina: Visitor, desk: Desk) -> None:
    dressed(desk, grinders=2)
    assert tina.get("/shop/bench/2026-12-07/2").h1 == "The bench: Mon 7 December 2026, grinder 2"
    assert "/shop/bench/2026-12-07/2" in tina.get("/shop/bench").links
    for path in ("/shop/bench/0001-01-01/1", "/shop/bench/9999-12-31/1"):
        assert "No run was begun." in tina.get(path).text
    for path in ("/shop/bench/2026-12-07/3", "/shop/bench/2026-12-07/0", "/shop/bench/yesterday/1"):
        tina.get(path, status=404)


def test_what_is_not_there_is_not_found(tina: Visitor, desk: Desk) -> None:
    tina.get("/shop/bench/runs/999999", status=404)
    tina.get("/shop/bench/pairs/999999/take-out", status=404)
    for path in ("runs/999999/dress", "runs/999999/add", "pairs/999999/done", "pairs/999999/undo"):
        tina.post(f"/shop/bench/{path}", status=404)
    tina.post("/shop/bench/begin", {"layer": "no such", "grinder": "0", "key": "some\0 key"}, status=409)
    tina.post("/shop/bench/begin", {"plan": "9", "number": "0", "key": "some key"}, status=409)


def test_a_pair_that_is_not_here_waits_in_the_run_without_a_form(tina: Visitor, desk: Desk) -> None:
    booked, pair = one_step(desk)
    with desk.database.write.begin() as session:
        session.get_one(RunPair, pair).state = PairState.WAITING
        item = find_bookings.item(session, desk.cast.tina, booked.item_id)
        item.stage = Stage.AWAITED
    page = tina.get(f"/shop/bench/runs/{the_last_run(desk)}")
    assert "Check it in first." in page.text
    tina.post(f"/shop/bench/pairs/{pair}/done", form_of(pair), status=409)


def test_the_bench_cards_are_papers(tina: Visitor, desk: Desk) -> None:
    booked, pair = one_step(desk)
    run = the_last_run(desk)
    page = tina.get(f"/shop/bench/runs/{run}")
    for path in (f"/shop/bench/runs/{run}/card.pdf", f"/shop/bench/pairs/{pair}/card.pdf"):
        assert path in page.links
        answer = tina.raw("GET", path)
        assert (answer.status_code, answer.mimetype) == (200, "application/pdf")
        text = text_of(answer.data)
        assert booked.reference in text
        assert "Test cut signed off by Tina" in text
    for path in ("/shop/bench/runs/999999/card.pdf", "/shop/bench/pairs/999999/card.pdf"):
        tina.get(path, status=404)
