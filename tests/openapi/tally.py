"""How many cases of a run were answered and how many refused, by job."""

import collections
import json
import sys

with open(sys.argv[1], encoding="utf-8") as file:
    entries = json.load(file)["log"]["entries"]
count = collections.Counter()
for entry in entries:
    job = entry["request"]["url"].rsplit("/", 1)[-1]
    count[job, entry["response"]["status"]] += 1
print(f"{len(entries)} requests; by job and status:")
for job in sorted({job for job, _ in count}):
    told = (f"{status} x {count[job, status]}" for _, status in sorted(k for k in count if k[0] == job))
    print(f"  {job:12} " + ", ".join(told))
