"""More than a thousand hostile inputs, to every form and address as each role and as the customer.

Run from the top of the repository: ``python -m tests.benchmarks.hostile_inputs [seed [requests]]``. It prints how many
inputs were sent, how the app answered, the slowest, and everything that should not be: a fault (status 500), words of
the inside in a page, a text that became markup, more than 2 s of work. The answering core is not asked and no worksheet
printed: an accepted inquiry gets a stored answer, so that only what lies between the browser and the core is timed.
Model files are read by processes of their own, whose limits are their own; their time is in "clock".
"""

import sys

from tests.benchmarks.throwaway import throwaway_office

MOST_WORK = 2.0  # [s]
REQUESTS = 90  # of each kind, where the command line does not say


def main(seed: int, requests: int) -> int:
    from tests.quoting.desk.hostile import meetings, unit_texts

    with throwaway_office() as world:
        found = list(meetings(world, seed, requests=requests))
    texts = list(unit_texts(seed, 2000))
    statuses = {status: sum(one.status == status for one in found) for status in sorted({one.status for one in found})}
    print(f"requests {len(found)}, hostile inputs in them {sum(one.inputs for one in found)}")
    print("answers by status", statuses)
    for name, key in (("work", "worked"), ("clock", "took")):
        print(f"slowest by {name}")
        for one in sorted(found, key=lambda one: -getattr(one, key))[:5]:
            print(f"  {getattr(one, key):6.2f} s  {one.status}  {one.what[:90]}")
    print(f"unit texts {len(texts)}, slowest {max(took for _, took, _ in texts) * 1000:.1f} ms")
    bad = [f"{one.status} {one.what} {one.wrong}" for one in found if one.status >= 500 or one.wrong]
    bad += [f"{one.worked:.2f} s of work: {one.what}" for one in found if one.worked > MOST_WORK]
    bad += [f"{fault}: {text[:60]!r}" for text, _, fault in texts if fault]
    print(f"wrong {len(bad)}")
    for line in bad:
        print(f"  {line[:200]}")
    return bool(bad)


if __name__ == "__main__":
    seed, requests = (*map(int, sys.argv[1:]), *(1, REQUESTS)[len(sys.argv) - 1 :])
    sys.exit(main(seed, requests))
