#!/usr/bin/env python3
"""Write files as C tables of texts: embed.py OUT.c FILE... -- PROCEDURE... -- JOB... --
INSPECTION PART_LIVES -- DECISION -- DRIVELINE, the files in the order of ch_knowledge_file, the jobs in that of ch_jobs_file.

The knowledge travels inside the program, so that it works from any folder. Bytes are written as numbers: a string
literal of this length is more than a C17 compiler has to take. Needs only the Python that Meson itself runs on.
"""
import os
import sys


def table(paths, array):
    """The C arrays of the files' bytes, and the table of ch_knowledge_text called `array`."""
    bytes_of, rows = [], []
    for number, path in enumerate(paths):
        with open(path, 'rb') as file:
            data = file.read()
        lines = [''.join(f'{byte},' for byte in data[i:i + 32]) for i in range(0, len(data), 32)]
        name = f'{array}_{number}'
        bytes_of.append(f'static const unsigned char {name}[] = {{\n' + '\n'.join(lines) + '\n0};\n')
        rows.append(f'    {{"{os.path.basename(path)} (built in)", (const char *){name}, {len(data)}}},\n')
    return ''.join(bytes_of) + f'static const ch_knowledge_text {array}[] = {{\n' + ''.join(rows) + '};\n\n'


def groups_of(arguments):
    """The lists between the `--`."""
    groups = [[]]
    for argument in arguments:
        if argument == '--':
            groups.append([])
        else:
            groups[-1].append(argument)
    return groups


def main(out, arguments):
    knowledge, procedures, jobs, upkeep, decision, driveline = groups_of(arguments)
    with open(out, 'w', encoding='ascii', newline='\n') as file:
        file.write('/* Made by embed.py; not to be edited. */\n'
                   '#include "crosshatch/assumptions.h"\n#include "crosshatch/clutch_knowledge.h"\n#include "crosshatch/inspection.h"\n#include "crosshatch/procedure.h"\n\n')
        file.write(table(knowledge, 'knowledge'))
        file.write(table(procedures, 'procedures'))
        file.write(table(jobs, 'jobs'))
        file.write(table(upkeep, 'upkeep'))
        file.write(table(decision, 'decision'))
        file.write(table(driveline, 'driveline'))
        for name, count in ('knowledge', 'CH_KNOWLEDGE_FILES'), ('jobs', 'CH_JOBS_FILES'), ('upkeep', '2'):
            file.write(f'_Static_assert(sizeof {name} / sizeof {name}[0] == {count}, "one text a file");\n\n')
        file.write('const ch_knowledge_text *ch_knowledge_builtin(void)\n{\n    return knowledge;\n}\n\n')
        file.write('const ch_knowledge_text *ch_assumptions_builtin(void)\n{\n    return decision;\n}\n\n')
        file.write('const ch_knowledge_text *ch_clutch_builtin(void)\n{\n    return driveline;\n}\n\n')
        file.write('const ch_knowledge_text *ch_jobs_builtin(void)\n{\n    return jobs;\n}\n\n')
        file.write('const ch_knowledge_text *ch_inspection_builtin(void)\n{\n    return &upkeep[0];\n}\n\n')
        file.write('const ch_knowledge_text *ch_part_lives_builtin(void)\n{\n    return &upkeep[1];\n}\n\n')
        file.write('const ch_knowledge_text *ch_procedures_builtin(size_t *count)\n{\n'
                   '    *count = sizeof procedures / sizeof procedures[0];\n    return procedures;\n}\n')


main(sys.argv[1], sys.argv[2:])
