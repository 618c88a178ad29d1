# SPDX-License-Identifier: Apache-2.0
"""What a blind trial prints: a line for each run, and totals by kind and by writer."""

from recording_faults import UNFIT, KINDS, unfit
from recording_writers import WRITERS


def line_of(record):
    head = f"{record['seed']:6} {record['kind']:19} {record['writer']:19} "
    if "skipped" in record:
        return head + "SKIPPED: " + record["skipped"]
    if "failed" in record:
        return head + f"FAILED: {record['failed']}  [{record['told']}]"
    verdict = f"{record['first']:34} {'right' if record['right'] else 'WRONG':6}"
    if record["refused"]:
        return head + f"{verdict} exit status 2  [{record['told']}]"
    return head + (f"{verdict} found {record['found']}, ffprobe {record['ffprobe']}, ledger "
                   f"{record['ledger']}{'' if record['same'] else ' DIFFER'}"
                   f"{' INVENTED' if record['invented'] else ''}  [{record['told']}"
                   f"{'' if record['effect'] else ', without effect'}] {record['place']}")


def print_table(records, what):
    columns = ("right", "same", "invented", "refused", "failed")
    print(f"\n| {what} | runs | first-ranked right | missing found | invented | refused | failed |\n"
          "| --- | --- | --- | --- | --- | --- | --- |")
    for name in dict.fromkeys(record[what] for record in records):
        of_it = [record for record in records if record[what] == name]
        sums = (sum(bool(record.get(column)) for record in of_it) for column in columns)
        print(f"| {name} | {len(of_it)} | {' | '.join(map(str, sums))} |")


def print_excluded():
    print("\nNever tried:")
    for needs, (_, reason) in UNFIT.items():
        kinds = [kind for kind in KINDS if KINDS[kind].needs == needs]
        without = [name for name in WRITERS if kinds and unfit(kinds[0], WRITERS[name])]
        if without:
            print(f"- {', '.join(kinds)} with {', '.join(without)}: {reason}")


def print_totals(records):
    print_table(sorted(records, key=lambda record: list(KINDS).index(record["kind"])), "kind")
    print_table(sorted(records, key=lambda record: list(WRITERS).index(record["writer"])), "writer")
    print_excluded()
    right, same, invented = (sum(record[column] for record in records)
                             for column in ("right", "same", "invented"))
    print(f"\nright: {right} of {len(records)}; every missing frame found: {same} of {len(records)}; "
          f"causes invented: {invented}")
