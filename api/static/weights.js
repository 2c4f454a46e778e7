// Weights: a moved slider puts the options in order at once, by the same sums as the server's
// (graph/weighing/ranking.py: heading, hindrance left, burden to expect, hours, help, name).
// Verdicts are data here; no weight can change one.

const VERDICTS = 3;
const MOST_NAMED = 8;

// Rounds as Python does: to the nearest, ties (which a binary number can only have at odd
// multiples of 1/2^(places+1)) to the even digit.
export function rounded(x, places) {
  const halves = x * 2 ** (places + 1);
  if (Number.isInteger(halves) && Math.abs(halves % 2) === 1) {
    const low = Math.floor(x * 10 ** places);
    return (low % 2 === 0 ? low : low + 1) / 10 ** places;
  }
  return Number(x.toFixed(places));
}

export function weightsOf(points) {
  const total = points.reduce((sum, n) => sum + n, 0);
  return total ? points.map((n) => rounded(n / total, 6)) : null;
}

export function burdenOf(grades, weights, worst) {
  let total = 0;
  for (let i = 0; i < grades.length; i += 1) total += weights[i] * grades[i];
  return rounded(total / worst, 6);
}

const byName = (a, b) => (a < b ? -1 : a > b ? 1 : 0);

// [id, label, verdict, meets, left, grades, least hours, most hours, alone, heading, waiting]
export function ordered(options, weights, worst) {
  const scored = options.map((o) => ({ o, burden: burdenOf(o[5], weights, worst) }));
  return scored.sort(
    (a, b) =>
      a.o[9] - b.o[9] ||
      (a.o[9] ? a.o[4] - b.o[4] : 0) ||
      rounded(a.burden + a.o[10], 6) - rounded(b.burden + b.o[10], 6) ||
      a.o[6] - b.o[6] ||
      a.o[4] - b.o[4] ||
      a.o[7] - b.o[7] ||
      byName(a.o[0], b.o[0]),
  );
}

function start(data) {
  const form = document.getElementById("weights-form");
  const status = document.getElementById("weights-said");
  const now = document.getElementById("weights-now");
  const sliders = data.axes.map((axis) => form.querySelector(`[data-axis="${axis}"]`));
  const rows = new Map();
  for (const row of document.querySelectorAll("[data-option]")) rows.set(row.dataset.option, row);
  const sections = new Map();
  const marks = [...document.querySelectorAll("template[data-verdict-mark]")];
  for (const one of document.querySelectorAll("[data-damage]")) sections.set(one.dataset.damage, one);
  const standard = new Map(); // option -> rank by the policy's own weights
  for (const [, options] of data.damages) {
    ordered(options, data.weights, data.worst).forEach((s, i) => standard.set(s.o[0], i + 1));
  }
  let asked = 0;

  const pointsNow = () => sliders.map((slider) => Number(slider.value));
  const isStandard = (points) => points.every((n, i) => n === data.points[i]);

  function place(damage, order) {
    const alone = order.find((s) => s.o[8]);
    const kept = new Map(); // list -> its rows in order
    order.forEach((s, i) => {
      const row = rows.get(s.o[0]);
      if (!row) return; // not of the verdict that is shown
      const list = row.parentNode;
      if (!kept.has(list)) kept.set(list, []);
      kept.get(list).push(row);
      row.querySelector("[data-rank]").textContent = i + 1;
      row.querySelector("[data-burden]").textContent = rounded(s.burden, 3).toFixed(3);
      const against = row.querySelector("[data-against]");
      if (against) {
        const d = rounded(s.burden - alone.burden, 2);
        against.textContent = `${d < 0 ? "\u2212" : "+"}${Math.abs(d).toFixed(2)}`;
      }
      const was = standard.get(s.o[0]);
      const tag = row.querySelector("[data-moved]");
      tag.hidden = was === i + 1;
      tag.textContent = was === i + 1 ? "" : `was ${was}`;
    });
    for (const [list, inOrder] of kept) {
      const moved = inOrder.some((row, i) => list.children[i] !== row);
      if (moved) list.append(...inOrder);
    }
    const rank = order.indexOf(alone) + 1;
    const strip = sections.get(damage)?.querySelector("[data-baseline-rank]");
    if (strip) strip.textContent = rank;
    const burden = sections.get(damage)?.querySelector("[data-baseline-burden]");
    if (burden) burden.textContent = rounded(alone.burden, 3).toFixed(3);
    move(damage, order);
    brief(damage, order);
  }

  // The marks of the plot go along its foot with their burden.
  function move(damage, order) {
    const plot = document.querySelector(`[data-plot="${CSS.escape(damage)}"]`);
    if (!plot) return;
    const [left, right, most] = ["left", "right", "most"].map((name) => Number(plot.dataset[name]));
    const marks = new Map([...plot.querySelectorAll("[data-mark]")].map((m) => [m.dataset.mark, m]));
    order.forEach((s, i) => {
      const mark = marks.get(s.o[0]);
      const x = left + (right - left) * Math.min(1, s.burden / most);
      mark.setAttribute("transform", `translate(${x.toFixed(1)} ${mark.dataset.y})`);
      const rank = mark.querySelector("text");
      if (rank) rank.textContent = i + 1;
    });
  }

  // The line of the damage at the top: what comes first, and the first that meets the aim.
  function brief(damage, order) {
    const line = document.querySelector(`[data-brief="${CSS.escape(damage)}"]`);
    if (!line) return;
    const standing = order.filter((s) => s.o[2] < VERDICTS - 1);
    const [first, meeting] = [standing[0], standing.find((s) => s.o[3])];
    const name = (place, s, otherwise) => {
      if (!s) return place.replaceChildren(otherwise);
      const link = document.createElement("a");
      link.href = `${location.pathname}/${s.o[0]}${data.tail}`;
      link.textContent = s.o[1];
      place.replaceChildren(link, " ", marks[s.o[2]].content.cloneNode(true));
    };
    name(line.querySelector("[data-brief-first]"), first, "none; every option is defeated");
    name(line.querySelector("[data-brief-aim]"), meeting === first ? null : meeting, meeting ? "the same" : "none that stands");
  }

  function movedIn(order, title) {
    const said = [];
    said.differs = order.some((s, i) => standard.get(s.o[0]) !== i + 1);
    for (let i = 0; i + 1 < order.length; i += 1) {
      const [one, other] = [order[i].o, order[i + 1].o];
      if (standard.get(one[0]) > standard.get(other[0]) && other[2] < VERDICTS - 1) {
        said.push([one[1], other[1], title]);
      }
    }
    return said;
  }

  function tell(moved, differs) {
    const list = document.createElement("ul");
    for (const [label, before, title] of moved.slice(0, MOST_NAMED)) {
      const [a, b, where, line] = ["b", "b", "span", "li"].map((t) => document.createElement(t));
      a.textContent = label;
      b.textContent = before;
      where.className = "quiet";
      where.textContent = `(${title})`;
      line.append(a, " now comes before ", b, " ", where);
      list.append(line);
    }
    if (moved.length > MOST_NAMED) {
      const line = document.createElement("li");
      line.textContent = `and ${moved.length - MOST_NAMED} more.`;
      list.append(line);
    }
    const head = document.createElement("p");
    head.textContent = moved.length
      ? "With these weights:"
      : differs
        ? "With these weights only defeated options change places."
        : "With these weights the order stays as it was.";
    status.replaceChildren(head, ...(moved.length ? [list] : []));
  }

  function rank() {
    const points = pointsNow();
    const own = !isStandard(points);
    const weights = own ? weightsOf(points) : data.weights;
    if (!weights) {
      const line = document.createElement("p");
      line.textContent = "Give at least one axis some weight; the order stays as it is.";
      status.replaceChildren(line);
      return;
    }
    const moved = [];
    let differs = false;
    for (const [damage, options, title] of data.damages) {
      const order = ordered(options, weights, data.worst);
      place(damage, order);
      const here = movedIn(order, title);
      moved.push(...here);
      differs ||= here.differs;
    }
    now.textContent = own ? "your own" : data.label;
    const chosen = document.querySelector(`#weights-panel a[data-policy="${data.policy}"]`);
    chosen?.classList.toggle("chosen", !own);
    if (own) chosen?.removeAttribute("aria-current");
    else chosen?.setAttribute("aria-current", "true");
    return { own, moved, differs };
  }

  let timer = 0;
  function changed() {
    const begun = performance.now();
    sliders.forEach((slider) => {
      form.querySelector(`[data-output="${slider.name}"]`).textContent = slider.value;
    });
    const found = rank();
    const spent = performance.now() - begun;
    document.documentElement.dataset.ranked = String(++asked);
    document.documentElement.dataset.rankedMs = spent.toFixed(2);
    if (!found) return;
    clearTimeout(timer); // told when typing pauses, so that nobody is talked over
    timer = setTimeout(() => (found.own ? tell(found.moved, found.differs) : status.replaceChildren()), 350);
    const keep = document.querySelector("#weights-keep [name=weights]");
    const address = new URL(location.href);
    for (const slider of sliders) address.searchParams.delete(slider.name);
    if (found.own) {
      const text = data.axes.map((a, i) => `${a.split(":")[1]}:${sliders[i].value}`).join(",");
      address.searchParams.set("weights", text);
    } else address.searchParams.delete("weights");
    if (keep) keep.value = address.searchParams.get("weights") ?? keep.dataset.standing;
    keepAddress(address);
  }

  let kept = 0;
  function keepAddress(address) {
    clearTimeout(kept); // browsers refuse too many changes of the address in a row
    kept = setTimeout(() => {
      history.replaceState(null, "", address);
      const weights = address.searchParams.get("weights");
      for (const link of document.querySelectorAll(".verdict-filter a")) {
        const there = new URL(link.href);
        if (weights) there.searchParams.set("weights", weights);
        else there.searchParams.delete("weights");
        link.href = there.href;
      }
    }, 400);
  }

  if (data.own) rank();
  form.addEventListener("input", changed);
  document.getElementById("weights-apply").hidden = true;
  document.getElementById("weights-reset").addEventListener("click", (event) => {
    event.preventDefault();
    sliders.forEach((slider, i) => (slider.value = String(data.points[i])));
    changed();
  });
}

const found = globalThis.document?.getElementById("weights-data");
if (found) start(JSON.parse(found.textContent));
