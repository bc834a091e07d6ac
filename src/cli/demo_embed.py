#!/usr/bin/env python3
"""Write the demonstration sheets as a C table: demo_embed.py OUT.c FILE..., in the order in which `demo` judges them.

The sheets travel inside the program, so that `crosshatch demo` works from any folder. Needs only the Python that Meson
itself runs on.
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
        rows.append(f'    {{"{os.path.basename(path)}", (const char *)text_{number}, {len(data)}}},\n')
    with open(out, 'w', encoding='ascii', newline='\n') as file:
        file.write('/* Made by demo_embed.py; not to be edited. */\n#include "src/cli/demo_sheets.h"\n\n')
        file.write(''.join(arrays))
        file.write(f'\nconst demo_sheet demo_sheets[] = {{\n' + ''.join(rows) + '};\n')
        file.write(f'const size_t demo_sheets_count = {len(paths)};\n')


main(sys.argv[1], sys.argv[2:])
