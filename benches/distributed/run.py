#!/usr/bin/env python3
"""Formulates a file of requests on two workers of a cluster, one of which is killed midway.

`saltwright batch` is a filter: lines in, lines out, in order, and the same lines give the same bytes.
So any engine that hands parts of a file to machines and tries a part again where a machine was lost
carries it; this one is Dask (https://docs.dask.org). The workers are processes of this machine here;
with the address of a scheduler instead of LocalCluster, and a folder that all machines see, they are
others.

    pip install -r benches/distributed/requirements.txt
    benches/distributed/requests.py 200000 saltwright > requests.jsonl
    benches/distributed/run.py requests.jsonl
"""

import argparse
import hashlib
import itertools
import os
import resource
import shutil
import signal
import subprocess
import tempfile
import time
from pathlib import Path

from dask.distributed import Client, LocalCluster, as_completed


def split(requests, folder, lines):
    """Cuts a file into parts of so many lines."""
    parts = []
    with open(requests, "rb") as file:
        while part := b"".join(itertools.islice(file, lines)):
            parts.append(folder / f"{len(parts):06}.jsonl")
            parts[-1].write_bytes(part)
    return parts


def processor_s():
    """Processor time of programs that were waited for, seconds."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def formulate(part, program):
    """Answers a part: aside first, then in its place, so that a part is whole or not there.

    Returns who did it and how much processor time it took.
    """
    before = processor_s()
    with open(part, "rb") as requests:
        # One thread: the cluster has a worker for every core.
        command = [program, "batch", "--threads", "1"]
        answers = subprocess.run(command, stdin=requests, capture_output=True, check=True).stdout
    aside = part.with_suffix(f".{os.getpid()}")
    aside.write_bytes(answers)
    os.replace(aside, part.with_suffix(".told"))
    return os.getpid(), processor_s() - before


def on_cluster(parts, program, told, kill):
    """Answers all parts on two workers, kills one after a third of them, joins the answers."""
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster:
        with Client(cluster) as client:
            workers = set(client.run(os.getpid).values())
            jobs = client.map(formulate, parts, program=program)
            for done, _ in enumerate(as_completed(jobs), start=1):
                if kill and done == max(1, len(parts) // 3):
                    victim = min(workers)
                    os.kill(victim, signal.SIGKILL)
                    print(f"worker {victim} killed after {done} of {len(parts)} parts")
            answered_by, seconds = zip(*(job.result() for job in jobs))
    later = set(answered_by) - workers
    print(f"answered by {len(set(answered_by))} processes, {len(later)} of them started later")
    with open(told, "wb") as out:
        for part in parts:
            with open(part.with_suffix(".told"), "rb") as answers:
                shutil.copyfileobj(answers, out)
    return sum(seconds)


def on_machine(requests, program, told):
    before = processor_s()
    subprocess.run([program, "batch", requests, "--out", told], check=True)
    return processor_s() - before


def digest(path):
    with open(path, "rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def timed(what, count, work):
    start = time.monotonic()
    processor = work()
    wall = time.monotonic() - start
    print(f"{what}: {wall:.1f} s, {count / wall:.0f} a second; {1e6 * processor / count:.0f} us "
          "of a processor each")


def main():
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("requests", type=Path)
    options.add_argument("--program", default="saltwright")
    options.add_argument("--lines", type=int, default=2000, help="lines of a part")
    options.add_argument("--spare", action="store_true", help="kill no worker")
    asked = options.parse_args()
    with open(asked.requests, "rb") as file:
        count = sum(1 for _ in file)
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        parts = split(asked.requests, folder, asked.lines)
        many, one = folder / "cluster", folder / "machine"
        timed("two workers", count,
              lambda: on_cluster(parts, asked.program, many, not asked.spare))
        timed("one machine", count, lambda: on_machine(asked.requests, asked.program, one))
        print(f"{count} formulations, {one.stat().st_size / count:.0f} bytes each")
        if digest(many) != digest(one):
            raise SystemExit("the cluster answered otherwise")
        print(f"the same bytes: SHA-256 {digest(one)}")


if __name__ == "__main__":
    main()
