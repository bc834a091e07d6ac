/*
 * Where the separators and line ends of a piece of text are.
 *
 * 64 bytes at a time become three masks of 64 bits: separators, line ends, quotes; the first two are then written out as offsets. SSE2 where
 * the compiler has it (every x86-64), else eight bytes at a time in a plain register: the answer is the same (tests/unit/test_drivelog_scan.c).
 */
#include <string.h>

#include "drivelog_parts.h"
#include "drivelog_scan.h"

#ifdef __SSE2__
#include <emmintrin.h>

static inline uint64_t equal_64(const __m128i v[static 4], char byte)
{
    const __m128i wanted = _mm_set1_epi8(byte);
    const uint64_t a = (uint64_t)(unsigned)_mm_movemask_epi8(_mm_cmpeq_epi8(v[0], wanted));
    const uint64_t b = (uint64_t)(unsigned)_mm_movemask_epi8(_mm_cmpeq_epi8(v[1], wanted));
    const uint64_t c = (uint64_t)(unsigned)_mm_movemask_epi8(_mm_cmpeq_epi8(v[2], wanted));
    const uint64_t d = (uint64_t)(unsigned)_mm_movemask_epi8(_mm_cmpeq_epi8(v[3], wanted));
    return a | b << 16 | c << 32 | d << 48;
}

static inline void masks(const char block[static 64], char separator, char newline, log_scan_mask *mask)
{
    __m128i v[4];
    memcpy(v, block, sizeof v);
    mask->separators = equal_64(v, separator);
    mask->ends = equal_64(v, newline);
    mask->quotes = equal_64(v, '"');
}
#else
static inline void masks(const char block[static 64], char separator, char newline, log_scan_mask *mask)
{
    log_scan_masks_plain(block, separator, newline, mask);
}
#endif

void log_scan_masks(const char block[static 64], char separator, char newline, log_scan_mask *mask)
{
    masks(block, separator, newline, mask);
}

/* One bit for each byte of `word` that is `byte`; the lowest byte in memory gives bit 0. */
static uint64_t equal_8(uint64_t word, char byte)
{
    const uint64_t low = 0x7f7f7f7f7f7f7f7fu;
    const uint64_t difference = word ^ (0x0101010101010101u * (unsigned char)byte);
    /* the top bit of each byte: set where no bit of the byte is. Exact, as nothing carries from byte to byte. */
    const uint64_t zero = ~(((difference & low) + low) | difference | low);
    return ((zero >> 7) * 0x0102040810204080u) >> 56;
}

void log_scan_masks_plain(const char block[static 64], char separator, char newline, log_scan_mask *mask)
{
    *mask = (log_scan_mask){0, 0, 0};
    for (unsigned i = 0; i < 8; i++) {
        const unsigned char *const byte = (const unsigned char *)block + (size_t)i * 8;
        uint64_t word = 0; /* little-endian whatever the machine */
        for (unsigned k = 0; k < 8; k++)
            word |= (uint64_t)byte[k] << (8 * k);
        mask->separators |= equal_8(word, separator) << (8 * i);
        mask->ends |= equal_8(word, newline) << (8 * i);
        mask->quotes |= equal_8(word, '"') << (8 * i);
    }
}

void log_scan(const char *text, size_t n, char separator, char newline, log_index *index)
{
    uint32_t places = 0;
    size_t ends = 0, quote = n;
    for (size_t at = 0; at < n; at += 64) {
        log_scan_mask mask;
        if (n - at >= 64) {
            masks(text + at, separator, newline, &mask);
        } else {
            char block[64] = {0};
            memcpy(block, text + at, n - at);
            masks(block, separator, newline, &mask);
            const uint64_t inside = ((uint64_t)1 << (n - at)) - 1;
            mask.separators &= inside;
            mask.ends &= inside;
            mask.quotes &= inside;
        }
        if (mask.quotes != 0 && quote == n)
            quote = at + (size_t)__builtin_ctzll(mask.quotes);
        uint64_t both = mask.separators | mask.ends;
        if (mask.ends == 0) {
            while (both != 0) {
                index->place[places++] = (uint32_t)at + (uint32_t)__builtin_ctzll(both);
                both &= both - 1;
            }
        } else {
            while (both != 0) {
                const uint64_t lowest = both & (~both + 1);
                index->row_end[ends] = places;
                ends += (mask.ends & lowest) != 0;
                index->place[places++] = (uint32_t)at + (uint32_t)__builtin_ctzll(both);
                both ^= lowest;
            }
        }
    }
    index->ends = ends;
    index->quote = quote;
}
