"""How long the moisture physics takes: one stack, a band of 256 samples, a round patch.

Prints figures and ratios; run by hand with `python bench/physics.py` on a quiet machine.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable

from leastwise.graph.physics import (
    Accuracy,
    Question,
    Rings,
    Zone,
    bench_stack,
    humidify,
    humidity_band,
    spread,
    textile,
)

STACK_WANTED_S, BAND_WANTED_S = 0.020, 0.4


def seconds(work: Callable[[], object], repeats: int) -> float:
    """Return the median processor time of some work, after one run to warm up."""
    work()
    times = []
    for _ in range(repeats):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return statistics.median(times)


def main() -> int:
    """Measure and print."""
    silk, wool = textile("silk", "silk", 60, 0.1), textile("wool", "wool", 300, 1.2)
    lined = bench_stack(wool, textile("lining", "silk", 60, 0.1))
    plain, ask = bench_stack(silk), Question("silk")
    one = seconds(lambda: humidify(plain, ask), 15)
    two = seconds(lambda: humidify(lined, Question("wool", neighbour="lining")), 15)
    exact = seconds(lambda: humidify(plain, ask, Accuracy(1e-8, 24)), 5)
    band = seconds(lambda: humidity_band(plain, ask), 3)
    margin = plain.without("blotter").without("membrane")
    zones = [Zone("blotter", 25, plain), Zone("margin", 60, margin)]
    round_patch = seconds(lambda: spread(zones, "silk", rings=Rings(per_zone=12)), 5)
    print(
        f"one stack          {one * 1e3:7.1f} ms  ({one / STACK_WANTED_S:.2f} of the wanted 20 ms)"
    )
    print(
        f"two textile layers {two * 1e3:7.1f} ms  ({two / STACK_WANTED_S:.2f} of the wanted 20 ms)"
    )
    print(f"one stack, exact   {exact * 1e3:7.1f} ms  ({exact / one:.1f} times the usual)")
    print(f"band of 256        {band:7.2f} s   ({band / BAND_WANTED_S:.2f} of the wanted 0.4 s)")
    print(f"a sample of it     {band / 256 * 1e3:7.1f} ms  ({band / 256 / one:.2f} of one alone)")
    print(f"round patch        {round_patch * 1e3:7.1f} ms")
    return 0


if __name__ == "__main__":
    sys.exit(main())
