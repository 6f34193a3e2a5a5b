"""Why nothing fits, in houses of 50, 500 and 5,000 casks: processor time of the conflict and the nearest plans.

    PYTHONPATH=src python tests/benchmarks/why_not.py

The houses are those of `plans.py`; in each one demand is made impossible beside the others: the vat holds less than the
least volume, fewer casks are allowed than it takes, or older spirit is asked than there is enough of.
"""

import time

from plans import SIZES, house

from pourbook.planning.conflict import conflict
from pourbook.planning.nearest import nearest

SECONDS = 30.0


def broken_ways(recipe, litres):
    limits = recipe.limits
    yield "vat too small", recipe._replace(limits=limits._replace(vat_l=0.8 * litres))
    yield "too few casks", recipe._replace(limits=limits._replace(most_casks=max(1, int(litres / 600))))
    yield "too old", recipe._replace(limits=limits._replace(least_age_years=21))


def timed(found, *args):
    started = time.process_time()
    answer = found(*args, seconds=SECONDS)
    return answer, time.process_time() - started


if __name__ == "__main__":
    for count, kinds, litres in SIZES:
        recipe, casks = house(count, kinds, litres, seed=1)
        for way, asked in broken_ways(recipe, litres):
            found, took = timed(conflict, asked, casks)
            near, took_near = timed(nearest, asked, casks, found.demands)
            said = "smallest" if found.smallest else "not proved"
            print(f"{count:5} {way:15} {took:6.1f} s {said}: {', '.join(found.demands)}; nearest {took_near:.1f} s")
            for one in near:
                print(f"      {one.demand}: asked {one.asked}, needed {one.needed}", flush=True)
