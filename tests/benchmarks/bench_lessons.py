"""How long each lesson takes: restart and run all, from the first code cell to the last, in a fresh kernel.

    python tests/benchmarks/bench_lessons.py               # all nine
    python tests/benchmarks/bench_lessons.py 06 07 --rounds 5

Starting the kernel is not counted; imports are, as the first code cell makes them. Wall seconds count other work on the
machine too, the kernel's processor seconds hardly do. Printed is the round with fewest processor seconds, and its
slowest code cells.
"""

import argparse
import tempfile
import time
from pathlib import Path

import nbformat
import psutil
from jupyter_client.manager import KernelManager

LESSONS = sorted((Path(__file__).resolve().parents[2] / "notebooks").glob("[!.]*.ipynb"))
SLOWEST = 4


def play(path, folder):
    """For each code cell of the lesson at ``path``, run in ``folder``: processor seconds, wall seconds, id."""
    cells = [cell for cell in nbformat.read(path, as_version=4).cells if cell.cell_type == "code"]
    manager = KernelManager(kernel_name="python3", transport="ipc", connection_file=f"{folder}/k.json")
    manager.start_kernel(cwd=folder)
    client = manager.client()
    client.start_channels()
    client.wait_for_ready()
    kernel = psutil.Process(manager.provisioner.pid)

    def now():
        return sum(kernel.cpu_times()[:2]), time.perf_counter()

    try:
        taken = []
        for cell in cells:
            before = now()
            reply = client.execute_interactive(cell.source, output_hook=lambda message: None, timeout=300)
            if reply["content"]["status"] == "error" and "raises-exception" not in cell.metadata.get("tags", []):
                raise SystemExit(f"{path.name}, {cell.id}: {reply['content']['evalue']}")
            taken.append((*(after - one for after, one in zip(now(), before, strict=True)), cell.id))
        return taken
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("lesson", nargs="*", help="its number, such as 07; default: all")
    parser.add_argument("--rounds", type=int, default=1)
    arguments = parser.parse_args()
    print("| lesson | processor s | wall s | slowest code cells, processor s |\n| --- | ---: | ---: | --- |")
    for path in LESSONS:
        if arguments.lesson and path.name[:2] not in arguments.lesson:
            continue
        rounds = []
        for _ in range(arguments.rounds):
            with tempfile.TemporaryDirectory() as folder:
                rounds.append(play(path, folder))
        best = min(rounds, key=lambda cells: sum(spent for spent, _, _ in cells))
        spent, waited = (sum(each) for each in list(zip(*best, strict=True))[:2])
        slow = ", ".join(f"{where} {cell:.2f}" for cell, _, where in sorted(best, reverse=True)[:SLOWEST])
        print(f"| {path.name[:2]} | {spent:.2f} | {waited:.2f} | {slow} |", flush=True)


if __name__ == "__main__":
    main()
