"""The sliders in a real browser: the same order as the server's, at once, and told politely."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from bench.large_case import large_record
from leastwise.api.pages.options.weights import FIELD, points_of, read_weights, reordered
from leastwise.api.store import Document
from leastwise.graph import Adviser
from leastwise.graph.answer import Answer
from leastwise.graph.case.reading import case_from_data
from tests.browser import axe_faults, overflow

Keep = Callable[..., Document]
PACK = "crushed-tiers/membrane-pack-suspended"

MOVE = """(points) => {
  const form = document.getElementById('weights-form');
  for (const [name, n] of Object.entries(points)) form.querySelector(`[name="${name}"]`).value = n;
  form.querySelector('input[type=range]').dispatchEvent(new Event('input', {bubbles: true}));
  return {
    order: [...document.querySelectorAll('[data-option]')].map((row) => [
      row.dataset.option,
      Number(row.querySelector('[data-rank]').textContent),
      row.querySelector('[data-burden]').textContent,
      row.querySelector('[data-against]')?.textContent ?? '',
    ]),
    ms: Number(document.documentElement.dataset.rankedMs),
  };
}"""


def _points(rng: random.Random, names: list[str]) -> dict[str, int]:
    """Draw points; now and then sums of 64 or 128, at which binary halves have to be rounded."""
    if rng.random() < 0.3:
        return dict(zip(names, rng.sample([1, 1, 2, 4, 8, 16, 32], len(names)), strict=True))
    return {name: rng.choice((0, 1, 3, 5, 20, 33, 50, 100, rng.randint(0, 100))) for name in names}


def _expected(answer: Answer, points: dict[str, int]) -> list[tuple[str, int, str, str]]:
    standard = points_of(answer.policy.weights)
    own = read_weights({name: str(n) for name, n in points.items()}, standard)
    ranked = answer if own is None else reordered(answer, own.weights)[0]
    rows = []
    for damage in ranked.damages:
        alone = next(o for o in damage.options if o.is_baseline)
        leading = {place.leads for place in damage.places}
        groups = {o.id: 2 if o.verdict == "defeated" else int(o.id not in leading)
                  for o in damage.options}  # fmt: skip
        for o in sorted(damage.options, key=lambda o: groups[o.id]):
            more = round(o.burden - alone.burden, 2)
            sign = "\N{MINUS SIGN}" if more < 0 else "+"
            against = "" if o.is_baseline else f"{sign}{abs(more):.2f}"
            rows.append((o.id, o.rank, f"{round(o.burden, 3):.3f}", against))
    return rows


def test_sliders_give_the_order_of_the_server(page: Any, keep: Keep, adviser: Adviser) -> None:
    record = large_record()
    record["damages"] = record["damages"][:12]
    name = keep(record).id
    answer = adviser.weigh(case_from_data(record, adviser.knowledge))
    page.goto(f"/cases/{name}/options", timeout=120_000)  # weighed first, on a machine in use
    names = [FIELD + axis.partition(":")[2] for axis in answer.policy.weights]
    rng, spent, orders = random.Random(11), [], set()  # noqa: S311 - weights, not secrets
    for _ in range(14):
        points = _points(rng, names)
        if not any(points.values()):
            continue
        found = page.evaluate(MOVE, points)
        expected = _expected(answer, points)
        assert [tuple(row) for row in found["order"]] == expected, points
        spent.append(found["ms"])
        orders.add(tuple(row[0] for row in expected))
    print(  # noqa: T201 - the figure is asked for
        f"\n{len(answer.options())} options put in order {len(spent)} times: "
          f"median {sorted(spent)[len(spent) // 2]:.1f} ms, most {max(spent):.1f} ms")  # fmt: skip
    assert len(orders) > 5


def test_sliders_work_by_keyboard_tell_what_moves_and_can_be_put_back(
    page: Any, keep: Keep
) -> None:
    name = keep().id
    page.goto(f"/cases/{name}/options")
    before = page.locator("[data-option]").evaluate_all("rows => rows.map(r => r.dataset.option)")
    page.locator("#weights-panel > summary").focus()
    page.keyboard.press("Enter")
    for axis in ("irreversibility", "exposure", "penetration", "future-treatment-hindered"):
        page.locator(f"#w-{axis}").focus()
        page.keyboard.press("Home")
    assert page.locator('[data-output="w-exposure"]').inner_text() == "0"
    said = page.locator("#weights-said")
    said.get_by_text("now comes before").first.wait_for()
    assert said.get_attribute("aria-live") == "polite"
    page.wait_for_url("**weights=*")
    after = page.locator("[data-option]").evaluate_all("rows => rows.map(r => r.dataset.option)")
    assert after != before
    page.reload()  # the same weights, worked out by the server
    again = page.locator("[data-option]").evaluate_all("rows => rows.map(r => r.dataset.option)")
    assert again == after
    page.locator("#weights-reset").click()
    back = page.locator("[data-option]").evaluate_all("rows => rows.map(r => r.dataset.option)")
    assert back == before
    assert "was" not in page.locator("[data-moved]").first.inner_text()


def test_the_baseline_stays_in_view(page: Any, keep: Keep) -> None:
    page.goto(f"/cases/{keep().id}/options")
    section = page.locator("[data-damage]").first
    section.locator("details.folded > summary").first.click()
    row = section.locator(".options > tr").nth(4)
    assert row.is_visible()
    row.evaluate("r => window.scrollTo(0, r.getBoundingClientRect().top + window.scrollY - 200)")
    box = section.locator(".baseline").bounding_box()
    assert 0 <= box["y"] < 40


def test_pages_of_options_have_no_fault_of_access_and_nothing_sticks_out(
    page: Any, keep: Keep
) -> None:
    name = keep().id
    paths = (
        f"/cases/{name}/options?weights=exposure:0",
        f"/cases/{name}/options/{PACK}",
        f"/cases/{name}/compare?one={PACK}&other=crushed-tiers/leave-and-monitor",
    )
    for path in paths:
        page.goto(path)
        for width in (1280, 820, 390):
            page.set_viewport_size({"width": width, "height": 900})
            assert overflow(page) == [], (path, width)
        assert axe_faults(page) == [], path


def test_the_tree_unfolds_and_the_long_answer_comes_in_place(page: Any, keep: Keep) -> None:
    page.goto(f"/cases/{keep().id}/options/{PACK}")
    count = "all => [all.length, all.filter(d => d.open).length]"
    page.get_by_role("button", name="Expand all").click()
    total, opened = page.locator("#tree details").evaluate_all(count)
    assert total == opened > 5
    page.get_by_role("button", name="Collapse all").click()
    assert page.locator("#tree details").evaluate_all(count)[1] == 0
    address = page.url
    page.locator("#ask-change").click()
    page.get_by_text("would be accepted after").wait_for(timeout=60_000)
    assert page.url == address
    assert page.evaluate("document.activeElement.id") == "change"
