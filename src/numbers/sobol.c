/* Scrambled Sobol points. Sources: include/crosshatch/sampling.h. */
#include <gsl/gsl_errno.h>
#include <gsl/gsl_qrng.h>

#include "crosshatch/sampling.h"

enum { DIGITS = 52, SEQUENCE_DIGITS = 30 }; /* binary digits of a coordinate, and of GSL's sequence */

/* One dimension's random lower-triangular binary matrix, a column a digit of the sequence, and its digital shift. */
typedef struct scrambling {
    uint64_t column[SEQUENCE_DIGITS];
    uint64_t shift;
} scrambling;

static void scrambling_draw(scrambling *out, uint64_t seed, size_t dimension)
{
    ch_stream stream;
    ch_stream_init(&stream, seed, dimension);
    for (int j = 0; j < SEQUENCE_DIGITS; j++) {
        /* Digit j keeps its place (1 on the diagonal) and leaks at random into the digits after it. */
        const uint64_t diagonal = UINT64_C(1) << (DIGITS - 1 - j);
        out->column[j] = diagonal | (ch_stream_bits(&stream) & (diagonal - 1));
    }
    out->shift = ch_stream_bits(&stream) >> (64 - DIGITS);
}

static double scramble(const scrambling *by, double plain)
{
    const uint32_t digits = (uint32_t)(plain * 0x1p30);
    uint64_t scrambled = by->shift;
    /* The digit as a mask: a branch on random digits is mispredicted half the time (measured four times slower). */
    for (int j = 0; j < SEQUENCE_DIGITS; j++)
        scrambled ^= by->column[j] & -(uint64_t)((digits >> (SEQUENCE_DIGITS - 1 - j)) & 1u);
    return ((double)scrambled + 0.5) * 0x1p-52;
}

ch_status ch_sobol_points(uint64_t seed, size_t dimensions, size_t n, double points[], ch_err *err)
{
    if (dimensions < 1 || dimensions > CH_SOBOL_DIMENSIONS_MAX)
        return ch_fail(err, CH_E_LIMIT, "1 to 40", "%zu dimensions", dimensions);
    if (n > ((size_t)1 << SEQUENCE_DIGITS))
        return ch_fail(err, CH_E_LIMIT, "up to 2^30", "%zu points", n);
    scrambling by[CH_SOBOL_DIMENSIONS_MAX];
    for (size_t d = 0; d < dimensions; d++)
        scrambling_draw(&by[d], seed, d);
    gsl_set_error_handler_off(); /* GSL's own ends the program */
    gsl_qrng *sequence = gsl_qrng_alloc(gsl_qrng_sobol, (unsigned)dimensions);
    if (sequence == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a sequence of %zu dimensions", dimensions);
    for (size_t i = 0; i < n; i++) {
        double plain[CH_SOBOL_DIMENSIONS_MAX] = {0.0};
        /* GSL leaves the sequence's first point, the origin, out. */
        if (i > 0)
            gsl_qrng_get(sequence, plain);
        for (size_t d = 0; d < dimensions; d++)
            points[i * dimensions + d] = scramble(&by[d], plain[d]);
    }
    gsl_qrng_free(sequence);
    return CH_OK;
}
