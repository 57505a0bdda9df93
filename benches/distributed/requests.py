#!/usr/bin/env python3
"""Writes COUNT formulations, a line each, the same for the same count.

An adviser's members, invented: each grows by one of the shipped recipes, in one of the shipped
waters, at a strength of their own, and buys at their own prices.
"""

import json
import random
import subprocess
import sys

# Price of a kilogram of the common shelf, any currency, invented; a member's is up to a third off.
PRICES = {
    "calcium-nitrate-fertilizer": 0.92, "potassium-nitrate": 1.85, "magnesium-nitrate-hexahydrate": 1.4,
    "ammonium-sulfate": 0.62, "monoammonium-phosphate": 1.75, "monopotassium-phosphate": 2.45,
    "potassium-sulfate": 1.35, "magnesium-sulfate-heptahydrate": 0.58, "calcium-chloride-dihydrate": 0.95,
    "fe-dtpa-11": 14.5, "fe-edta-13": 9.8, "manganese-sulfate-monohydrate": 2.6,
    "zinc-sulfate-monohydrate": 2.9, "boric-acid": 3.4, "copper-sulfate-pentahydrate": 4.8,
    "sodium-molybdate-dihydrate": 46.0, "nitric-acid-38": 1.15, "phosphoric-acid-75": 2.1,
}


def shipped(program, kind):
    """Ids of what the program ships of a kind."""
    listed = subprocess.run([program, "list", kind, "--json"], capture_output=True, check=True)
    return [entry["id"] for entry in json.loads(listed.stdout)]


def request(member, recipes, waters):
    """The formulation of a member, who is their number."""
    draw = random.Random(member)
    return {
        "job": "formulate",
        "id": member,
        "recipe": draw.choice(recipes),
        "micros": "micros-leafy",
        "water": draw.choice(waters),
        "strength": round(draw.uniform(0.7, 1.1), 2),
        "prices": {salt: round(price * draw.uniform(0.67, 1.33), 2) for salt, price in PRICES.items()},
    }


def main():
    count, program = int(sys.argv[1]), sys.argv[2] if len(sys.argv) > 2 else "saltwright"
    recipes = [name for name in shipped(program, "recipes") if not name.startswith("micros-")]
    waters = shipped(program, "waters")
    for member in range(count):
        print(json.dumps(request(member, recipes, waters)))


if __name__ == "__main__":
    main()
