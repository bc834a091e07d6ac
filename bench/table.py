#!/usr/bin/python3
"""Gathers the rows that the bench_* programs left (rows.py) into one table on the terminal and one file of JSON.

usage: table.py ROWS OUT
"""
import json
import os
import platform
import sys
import time


def said(value, unit):
    """A figure with its unit, in three digits."""
    if unit == "s":
        for factor, name in ((1, "s"), (1e3, "ms"), (1e6, "us")):
            if value * factor >= 1:
                return f"{value * factor:.3g} {name}"
        return f"{value * 1e6:.3g} us"
    return f"{value:.4g} {unit}" if value < 1e4 else f"{value:.0f} {unit}"


def mark(row):
    return {None: "", True: "met", False: "MISSED"}[row.get("met")]


def main():
    if len(sys.argv) != 3:
        print(__doc__, file=sys.stderr)
        return 2
    with open(sys.argv[1], encoding="utf-8") as stream:
        rows = [json.loads(line) for line in stream if line.strip()]
    with open("/proc/cpuinfo", encoding="utf-8") as stream:
        models = [line.split(":")[1].strip() for line in stream if line.startswith("model name")]
    machine = {"machine": platform.machine(), "processor": models[0] if models else "?", "cores": os.cpu_count(),
               "load_at_the_end": os.getloadavg()[0], "when": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime())}
    print(f"{machine['processor']}, {machine['cores']} cores, {machine['when']}; load of the machine at the end {machine['load_at_the_end']:.1f}")
    print(f"{'area':<9} {'what':<46} {'ours':>11} {'other':>11} {'other/ours':>10}  against / wanted")
    for row in rows:
        if row["kind"] == "growth":
            continue
        other = said(row["other"], row["unit"]) if row["kind"] == "compare" else ""
        ratio = f"{row['ratio']:.3g}" if row["kind"] == "compare" else ""
        tail = "; ".join(part for part in (row.get("other_name", ""), row["wanted"], mark(row)) if part)
        print(f"{row['area']:<9} {row['what'][:46]:<46} {said(row['ours'], row['unit']):>11} {other:>11} {ratio:>10}  {tail}")
    print(f"\n{'area':<9} {'grows with':<46} {'from':>11} {'to':>11} {'exponent':>10}  sizes")
    for row in rows:
        if row["kind"] == "growth":
            sizes = ", ".join(str(size) for size in row["sizes"])
            print(f"{row['area']:<9} {row['what'][:46]:<46} {said(row['figures'][0], row['unit']):>11} {said(row['figures'][-1], row['unit']):>11} "
                  f"{row['exponent']:>10.2f}  {sizes}")
    with open(sys.argv[2], "w", encoding="utf-8") as stream:
        json.dump({**machine, "rows": rows}, stream, indent=1)
    missed = sum(row.get("met") is False for row in rows)
    print(f"\n{len(rows)} rows, {missed} missed; all of it in {sys.argv[2]}")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
