#include "crosshatch/hash.h"

uint64_t ch_hash(uint64_t hash, const void *bytes, size_t length)
{
    const unsigned char *byte = bytes;
    for (size_t i = 0; i < length; i++)
        hash = (hash ^ byte[i]) * UINT64_C(0x100000001b3);
    return hash;
}
