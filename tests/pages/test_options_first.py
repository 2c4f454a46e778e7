"""The options page begins with the answer: boxes to tick, a preview, a plot, one table."""

from __future__ import annotations

import html
import re
from collections.abc import Callable

from fastapi.testclient import TestClient

from leastwise.api.store import Document, Store
from leastwise.graph import Adviser
from leastwise.graph.case.demo import read_demo
from leastwise.graph.questions.preview import key_of, preview

Keep = Callable[..., Document]
BANNER = "guild-banner"


def test_ticked_points_show_the_answer_as_it_would_be_and_nothing_is_kept(
    client: TestClient, keep: Keep, store: Store, adviser: Adviser
) -> None:
    case = read_demo(BANNER, adviser.knowledge)
    now = adviser.weigh(case)
    name = keep(BANNER).id
    page = html.unescape(client.get(f"/cases/{name}/options").text)
    keys = re.findall(r'name="try" value="([^"]+)"', page)
    assert keys == [key_of(one) for one in now.headline.settle_first]
    assert now.headline.in_words in page
    assert "Preview" not in page
    version = store.read(name, "case").version
    then = preview(adviser, case, keys)
    shown = html.unescape(client.get(f"/cases/{name}/options", params={"try": keys}).text)
    assert "Preview, nothing of it is kept." in shown
    assert then.answer.headline.in_words in shown
    assert shown.count(" checked>") == len(keys)
    for option in then.answer.options():
        assert f'class="option {option.verdict}-row" data-option="{option.id}"' in shown
    assert store.read(name, "case").version == version
    assert html.unescape(client.get(f"/cases/{name}/options").text) == page


def test_what_is_not_open_is_told_with_what_is(client: TestClient, keep: Keep) -> None:
    got = client.get(f"/cases/{keep(BANNER).id}/options?try=test%3Dtest:none")
    assert 400 <= got.status_code < 500
    assert "test=test:tilt-trial" in html.unescape(got.text)


def test_each_plot_has_a_mark_for_each_option_where_burden_and_hindrance_put_it(
    client: TestClient, keep: Keep, adviser: Adviser
) -> None:
    page = client.get(f"/cases/{keep(BANNER).id}/options").text
    answer = adviser.weigh(read_demo(BANNER, adviser.knowledge))
    for damage in answer.damages:
        plot = page.partition(f'data-plot="{damage.id}"')[2].partition("</svg>")[0]
        left, right, most = (
            float(re.search(rf'data-{name}="([\d.]+)"', plot)[1])  # type: ignore[index]
            for name in ("left", "right", "most")
        )
        band = float(re.search(r'class="plot-edge" d="M\d+ ([\d.]+)h', plot)[1])  # type: ignore[index]
        marks = {
            option: (verdict, float(x), float(y))
            for verdict, option, x, y in re.findall(
                r'class="mark (\w+)" data-mark="([^"]+)"[^>]*translate\(([\d.]+) ([\d.]+)\)', plot
            )
        }
        assert set(marks) == {o.id for o in damage.options}
        for o in damage.options:
            verdict, x, y = marks[o.id]
            assert verdict == o.verdict
            assert abs(x - (left + (right - left) * o.burden / most)) < 0.1
            assert (y < band) == (o.residual <= answer.policy.residual_allowed), o.id
