#!/usr/bin/env python3
"""Write the files given as a C table of texts: embed.py OUT.c FILE..., the files in the order of ch_knowledge_file.

The knowledge travels inside the program, so that it works from any folder. Bytes are written as numbers: a string
literal of this length is more than a C17 compiler has to take. Needs only the Python that Meson itself runs on.
"""
import os
import sys


def main(out, paths):
    arrays, rows = [], []
    for number, path in enumerate(paths):
        with open(path, 'rb') as file:
            data = file.read()
        lines = [''.join(f'{byte},' for byte in data[i:i + 32]) for i in range(0, len(data), 32)]
        arrays.append(f'static const unsigned char text_{number}[] = {{\n' + '\n'.join(lines) + '\n0};\n')
        rows.append(f'    {{"{os.path.basename(path)} (built in)", (const char *)text_{number}, {len(data)}}},\n')
    with open(out, 'w', encoding='ascii', newline='\n') as file:
        file.write('/* Made by embed.py; not to be edited. */\n#include "crosshatch/knowledge.h"\n\n')
        file.write(''.join(arrays))
        file.write('static const ch_knowledge_text texts[CH_KNOWLEDGE_FILES] = {\n' + ''.join(rows) + '};\n\n')
        file.write('const ch_knowledge_text *ch_knowledge_builtin(void)\n{\n    return texts;\n}\n')


main(sys.argv[1], sys.argv[2:])
