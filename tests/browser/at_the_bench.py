"""What a technician does before a pair can be recorded: begins its runs, dresses the stone, signs off the test cut."""

from __future__ import annotations

from tests.browser.conftest import Person

MOST_STEPS = 8


def onto_the_stone(bench: Person) -> None:
    """Bring the one pair that is here onto a signed-off dressing for the last step of its work."""
    page = bench.page
    for _step in range(MOST_STEPS):
        bench.go("/shop/bench")
        page.get_by_role("button", name="Begin the run").first.click()
        page.get_by_label("Diamond").first.select_option(label="None of this workshop")
        page.get_by_role("button", name="The stone is dressed").click()
        page.get_by_label("Depth measured").first.fill("11,5")
        page.get_by_role("button", name="Sign off the test cut").click()
        page.get_by_text("The pairs can be ground.").wait_for()
        done = page.locator(".run-pair[open]").get_by_role("button", name="Done")
        done.wait_for()
        bench.look()
        if "record the grind" in done.inner_text():
            return
        done.click()
        page.get_by_text("1 of 1 pair done").wait_for()
    raise AssertionError("the pair has more steps than a structure can have")
