"""The table of rights, walked: each route for each visitor, own things and another's, as found and as intended.

Run from the top of the repository: ``python -m tests.benchmarks.rights_table``. Ends with the number of differences.
Y opens, - is refused, 404 is hidden as if it did not exist, log leads to the log-in, x is a method the route has not.
"""

import sys
from itertools import groupby

from tests.benchmarks.throwaway import throwaway_office

LETTERS = {"open": "Y", "log in": "log", "refused": "-", "hidden": "404", "no such method": "x"}


def main() -> int:
    from tests.quoting.desk.walk import walk
    from tests.quoting.desk.world import VISITORS

    heads = ("anon", "rep", "2nd rep", "estim", "manag", "admin", "no role", "cust")
    with throwaway_office() as world:
        steps = list(walk(world))
    print(f"{'route':<24}{'method':<8}{'whose':<8}" + "".join(f"{head:<9}" for head in heads))
    for (route, whose, method), row in groupby(steps, key=lambda step: (step.route, step.whose, step.method)):
        found = {step.visitor: step for step in row}
        cells = [
            LETTERS.get(found[one].found, found[one].found) + ("" if found[one].is_as_intended else "!")
            for one in VISITORS
        ]
        print(f"{route:<24}{method:<8}{whose:<8}" + "".join(f"{cell:<9}" for cell in cells))
    wrong = [step for step in steps if not step.is_as_intended]
    print(f"{len(steps)} steps, {len(wrong)} not as intended")
    for step in wrong:
        print(f"  {step}")
    return bool(wrong)


if __name__ == "__main__":
    sys.exit(main())
