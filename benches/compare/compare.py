#!/usr/bin/env python3
"""Holds the program against general tools on the same problems, in one run, and prints a table.

Linear programs: the closest and the cheapest stage of each formulation are built anew, from the rows
of its report and the assays of `list fertilizers`, and given to HiGHS through scipy
(https://docs.scipy.org/doc/scipy/reference/optimize.linprog-highs.html).
Chemistry: the same salts in water are speciated by PHREEQC through phreeqpython with the database
phreeqc.dat (https://www.usgs.gov/software/phreeqc-version-3).

    pip install -r benches/compare/requirements.txt
    benches/compare/compare.py --program saltwright --into README.md

With --into it writes its table and the day into that text, in place of those that stand there.
"""

import argparse
import datetime
import json
import pathlib
import platform
import random
import re
import statistics
import subprocess
import time

import numpy
import phreeqpython
import scipy
from scipy.optimize import linprog

# What a unit of deviation beyond a band costs against one inside it, as the reports' proof states it.
BEYOND = 1000.0
# Recipes and waters that the requests draw from.
DRAWN = "sonneveld-modified-lettuce furlani-1995-lettuce hoagland-2 la-molina rocket-floating".split()
WATERS = "larch-hollow-spring rain-barrel reverse-osmosis".split()
# Salts for the chemistry: what a mole brings, mol, by the names of phreeqc.dat; g/mol of the salt.
SALTS = {
    "potassium-nitrate": ({"K": 1, "N(5)": 1}, 101.10),
    "calcium-nitrate-tetrahydrate": ({"Ca": 1, "N(5)": 2}, 236.15),
    "magnesium-sulfate-heptahydrate": ({"Mg": 1, "S(6)": 1}, 246.47),
    "monopotassium-phosphate": ({"K": 1, "P": 1}, 136.09),
    "potassium-sulfate": ({"K": 2, "S(6)": 1}, 174.26),
}


def ask(program, requests):
    """Reports on these requests by one thread, and seconds for each."""
    lines = "".join(json.dumps(request) + "\n" for request in requests)
    start = time.perf_counter()
    command = [program, "batch", "--threads", "1"]
    told = subprocess.run(command, input=lines, capture_output=True, text=True, check=True).stdout
    seconds = (time.perf_counter() - start) / len(requests)
    return [json.loads(line) for line in told.splitlines()], seconds


def formulations(count, shelf):
    """Requests without acid, priced, invented."""
    draw = random.Random(1)
    return [
        {
            "job": "formulate",
            "recipe": draw.choice(DRAWN),
            "water": draw.choice(WATERS),
            "acid": None,
            "strength": round(draw.uniform(0.6, 1.1), 3),
            "simplest": False,
            "prices": {salt: round(draw.uniform(0.5, 5.0), 2) for salt in shelf},
        }
        for _ in range(count)
    ]


class Program:
    """The program of a report: salts in g/L, then for every row short and over, inside and beyond."""

    def __init__(self, report, prices, shelf):
        rows = report["nutrients"]
        named = {row["nutrient"]: row for row in rows}
        parts = {"N": ["NO3-N", "NH4-N", "urea-N"]}
        # Where nitrate has an aim, the sum of nitrogen is a band only.
        is_aimed = lambda row: row["aim"] is not None and not (
            row["nutrient"] == "N" and named["NO3-N"]["aim"] is not None)
        rows = [row for row in rows if any(row[key] is not None for key in ("aim", "min", "max"))]
        salts = list(prices)
        width = len(salts) + 4 * len(rows)
        self.matrix = numpy.zeros((len(rows), width))
        self.right = numpy.zeros(len(rows))
        self.bounds = [(0, None)] * width
        self.distance, self.money = numpy.zeros(width), numpy.zeros(width)
        for j, salt in enumerate(salts):
            self.money[j] = prices[salt]  # per kg, so of a g/L: per m3
        for i, row in enumerate(rows):
            aim, low, high = row["aim"], row["min"], row["max"]
            scale = next((value for value in (aim, high, low) if value), 1.0)
            reference = next((value for value in (aim, low) if value is not None), 0.0)
            for j, salt in enumerate(salts):
                percent = sum(shelf[salt].get(part, 0.0) for part in parts.get(row["nutrient"], [row["nutrient"]]))
                self.matrix[i, j] = 10.0 * percent / scale
            at = len(salts) + 4 * i
            self.matrix[i, at:at + 4] = [1.0, -1.0, 1.0, -1.0]
            self.right[i] = (reference - row["water"]) / scale
            self.bounds[at] = (0, (reference - (low or 0.0)) / scale)
            self.bounds[at + 1] = (0, None if high is None else max(0.0, (high - reference) / scale))
            weight = 1.0 if is_aimed(row) else 0.0
            self.distance[at:at + 4] = [weight, weight, BEYOND, BEYOND]

    def solve(self):
        """Closest, then cheapest among the closest; both objectives and the seconds HiGHS took."""
        start = time.perf_counter()
        rows = {"A_eq": self.matrix, "b_eq": self.right, "bounds": self.bounds, "method": "highs"}
        closest = linprog(self.distance, **rows)
        # No worse than that, but for what HiGHS itself leaves open.
        room = closest.fun + 1e-9
        cheapest = linprog(self.money, A_ub=self.distance[None, :], b_ub=[room], **rows)
        return closest.fun, cheapest.fun, time.perf_counter() - start


def compare_programs(program, count):
    listed = subprocess.run([program, "list", "fertilizers", "--json"], capture_output=True, check=True)
    table = [row for row in json.loads(listed.stdout) if row["common"] and row["acid_meq_per_g"] == 0]
    shelf = {row["id"]: dict(row["assay_pct"]) for row in table}
    requests = formulations(count, shelf)
    reports, ours = ask(program, requests)
    agree, worst, seconds = 0, 0.0, []
    for request, report in zip(requests, reports):
        theirs = Program(report, request["prices"], shelf)
        closest, cheapest, took = theirs.solve()
        seconds.append(took)
        proof = {stage["stage"]: stage["objective"] for stage in report["proof"]}
        off = max(
            abs(closest - proof["closest"]) / max(1.0, proof["closest"]),
            abs(cheapest - report["cost_per_m3"]) / report["cost_per_m3"],
        )
        worst = max(worst, off)
        agree += off < 1e-5
    return {"count": count, "ours": ours, "theirs": statistics.mean(seconds), "agree": agree, "worst": worst}


def wrapping(count=200):
    """Seconds that scipy takes around HiGHS for a program of two variables, solved twice as above."""
    start = time.perf_counter()
    for _ in range(2 * count):
        linprog([1.0, 1.0], A_eq=[[1.0, 1.0]], b_eq=[1.0], method="highs")
    return (time.perf_counter() - start) / count


def compare_chemistry(program, count):
    draw = random.Random(2)
    mixes = [{salt: round(draw.uniform(0.05, 0.6), 3) for salt in SALTS} for _ in range(count)]
    requests = [
        {"job": "predict", "mix": [{"id": salt, "g_per_l": grams} for salt, grams in mix.items()],
         "fertilizers": [{"id": salt, "formula": formula} for salt, formula in FORMULAS.items()]}
        for mix in mixes
    ]
    reports, ours = ask(program, requests)
    engine = phreeqpython.PhreeqPython(database="phreeqc.dat")
    acidity, conductivity, seconds = [], [], []
    for mix, report in zip(mixes, reports):
        amounts = {}
        for salt, grams in mix.items():
            brings, weight = SALTS[salt]
            for name, moles in brings.items():
                amounts[name] = amounts.get(name, 0.0) + 1000.0 * grams * moles / weight
        start = time.perf_counter()
        solution = engine.add_solution({"units": "mmol/l", "pH": "7 charge", "temp": 25, **amounts})
        seconds.append(time.perf_counter() - start)
        acidity.append(abs(solution.pH - report["ph"]["closed"]))
        conductivity.append(solution.sc / 1000.0 / report["ec"]["predicted_ms_cm"] - 1.0)
        solution.forget()
    return {"count": count, "ours": ours, "theirs": statistics.mean(seconds), "ph": max(acidity),
            "ec": (min(conductivity), max(conductivity))}


FORMULAS = {
    "potassium-nitrate": "KNO3",
    "calcium-nitrate-tetrahydrate": "Ca(NO3)2.4H2O",
    "magnesium-sulfate-heptahydrate": "MgSO4.7H2O",
    "monopotassium-phosphate": "KH2PO4",
    "potassium-sulfate": "K2SO4",
}


HEAD = ["| | Saltwright | general tool | they agree |", "|---|---|---|---|"]


def into(text, rows, day):
    """A text with these rows under the head of the table, and the day in the paragraph before it."""
    before, found, after = text.partition("\n\n" + "\n".join(HEAD) + "\n")
    assert found, "the head of the table is not there"
    before, blank, paragraph = before.rpartition("\n\n")
    paragraph, days = re.subn(r"\d{4}-\d\d-\d\d", day, paragraph)
    assert days == 1, "the paragraph before the table names one day"
    _, end, rest = after.partition("\n\n")
    return before + blank + paragraph + found + "\n".join(rows) + end + rest


def milli(seconds):
    return f"{1000.0 * seconds:.2f} ms"


def main():
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--program", default="saltwright")
    options.add_argument("--count", type=int, default=1000)
    options.add_argument("--into", type=pathlib.Path, help="the text whose table is written anew")
    asked = options.parse_args()
    lp = compare_programs(asked.program, asked.count)
    ions = compare_chemistry(asked.program, asked.count)
    low, high = (100.0 * value for value in ions["ec"])
    rows = [
        f"| closest and cheapest mix, {lp['count']} programs | {milli(lp['ours'])}, proof, chemistry and JSON "
        f"included | {milli(lp['theirs'])}, HiGHS in scipy {scipy.__version__}, the two programs alone; "
        f"{milli(wrapping())} of it for programs of any size | "
        f"{lp['agree']} of {lp['count']} within 1e-5, worst {lp['worst']:.0e} |",
        f"| ions, pH and EC of {ions['count']} mixes | {milli(ions['ours'])}, ranges, solids and JSON included | "
        f"{milli(ions['theirs'])}, PHREEQC in phreeqpython, one speciation | pH within {ions['ph']:.3f}; its EC "
        f"{low:+.1f} to {high:+.1f} % of ours |",
    ]
    print("\n".join(HEAD + rows))
    if asked.into:
        text = into(asked.into.read_text(), rows, datetime.date.today().isoformat())
        asked.into.write_text(text)
    print(f"\n{platform.machine()}, one thread each, Python {platform.python_version()}")


if __name__ == "__main__":
    main()
