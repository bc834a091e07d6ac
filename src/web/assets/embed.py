#!/usr/bin/env python3
"""Write the files given as a C table: embed.py OUT.c FILE...

They travel inside the program, so that it works from any folder and has no folder to be led out of. Needs only the Python that Meson
itself runs on.
"""
import hashlib
import os
import sys

TYPES = {
    '.css': 'text/css; charset=utf-8',
    '.js': 'text/javascript; charset=utf-8',
    '.mjs': 'text/javascript; charset=utf-8',
    '.svg': 'image/svg+xml',
    '.webmanifest': 'application/manifest+json',
    '.png': 'image/png',
}


def main(out, paths):
    arrays, rows = [], []
    for number, path in enumerate(paths):
        with open(path, 'rb') as file:
            data = file.read()
        lines = [''.join(f'{byte},' for byte in data[i:i + 32]) for i in range(0, len(data), 32)]
        arrays.append(f'static const unsigned char bytes_{number}[] = {{\n' + '\n'.join(lines) + '\n};\n')
        name = os.path.basename(path)
        etag = hashlib.sha256(data).hexdigest()[:32]
        rows.append(f'    {{"{name}", "{TYPES[os.path.splitext(name)[1]]}", bytes_{number}, {len(data)}, "{etag}"}},\n')
    with open(out, 'w', encoding='ascii', newline='\n') as file:
        file.write('/* Made by embed.py; not to be edited. */\n#include "asset.h"\n\n')
        file.write(''.join(arrays))
        file.write('\nconst web_asset web_assets[] = {\n' + ''.join(rows) + '};\n')
        file.write(f'const size_t web_assets_count = {len(paths)};\n')


main(sys.argv[1], sys.argv[2:])
