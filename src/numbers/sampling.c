/* Random streams by seed and index. Sources: include/crosshatch/sampling.h. */
#include "crosshatch/sampling.h"

#include <math.h>

/* One step of SplitMix64. */
static uint64_t split_mix(uint64_t *state)
{
    uint64_t z = *state += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

void ch_stream_init(ch_stream *stream, uint64_t seed, uint64_t index)
{
    /* The index is mixed on its own first, so that neighbours (seed 1 index 2, seed 2 index 1) share nothing. */
    uint64_t from_seed = seed, from_index = ~index;
    from_index = split_mix(&from_index);
    for (int i = 0; i < 4; i++)
        stream->s[i] = split_mix(&from_seed) + split_mix(&from_index);
    /* The all-zero state is the one the generator cannot leave. */
    if ((stream->s[0] | stream->s[1] | stream->s[2] | stream->s[3]) == 0)
        stream->s[0] = 1;
}

static uint64_t rotate_left(uint64_t x, int by)
{
    return (x << by) | (x >> (64 - by));
}

uint64_t ch_stream_bits(ch_stream *stream)
{
    uint64_t *s = stream->s;
    const uint64_t bits = rotate_left(s[0] + s[3], 23) + s[0];
    const uint64_t shifted = s[1] << 17;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= shifted;
    s[3] = rotate_left(s[3], 45);
    return bits;
}

double ch_stream_uniform(ch_stream *stream)
{
    return ((double)(ch_stream_bits(stream) >> 12) + 0.5) * 0x1p-52;
}

double ch_stream_normal(ch_stream *stream)
{
    return ch_normal_quantile(ch_stream_uniform(stream));
}

double ch_stream_lognormal(ch_stream *stream, double median, double sd_log_1)
{
    return median * exp(sd_log_1 * ch_stream_normal(stream));
}

double ch_stream_gamma(ch_stream *stream, double shape)
{
    const double d = shape - 1.0 / 3.0, c = 1.0 / sqrt(9.0 * d);
    for (;;) {
        const double x = ch_stream_normal(stream), root = 1.0 + c * x, v = root * root * root, x2 = x * x;
        if (!(v > 0.0))
            continue;
        const double u = ch_stream_uniform(stream);
        /* The squeeze of the source: what passes it passes the exact test too, which takes two logarithms. */
        if (u < 1.0 - 0.0331 * (x2 * x2) || log(u) < 0.5 * x2 + d - d * v + d * log(v))
            return d * v;
    }
}

/* c[7] r^7 + ... + c[0], written out: a loop takes half as long again, and this is drawn by. */
static double polynomial(const double c[8], double r)
{
    return ((((((c[7] * r + c[6]) * r + c[5]) * r + c[4]) * r + c[3]) * r + c[2]) * r + c[1]) * r + c[0];
}

double ch_normal_quantile(double p_1)
{
    /* Coefficients of PPND16: close to 1/2, in the near tail, in the far tail. */
    static const double a[8] = {3.3871328727963666080e0,  1.3314166789178437745e+2, 1.9715909503065514427e+3,
                                1.3731693765509461125e+4, 4.5921953931549871457e+4, 6.7265770927008700853e+4,
                                3.3430575583588128105e+4, 2.5090809287301226727e+3};
    static const double b[8] = {1.0,
                                4.2313330701600911252e+1,
                                6.8718700749205790830e+2,
                                5.3941960214247511077e+3,
                                2.1213794301586595867e+4,
                                3.9307895800092710610e+4,
                                2.8729085735721942674e+4,
                                5.2264952788528545610e+3};
    static const double c[8] = {1.42343711074968357734e0,  4.63033784615654529590e0, 5.76949722146069140550e0,
                                3.64784832476320460504e0,  1.27045825245236838258e0, 2.41780725177450611770e-1,
                                2.27238449892691845833e-2, 7.74545014278341407640e-4};
    static const double d[8] = {1.0,
                                2.05319162663775882187e0,
                                1.67638483018380384940e0,
                                6.89767334985100004550e-1,
                                1.48103976427480074590e-1,
                                1.51986665636164571966e-2,
                                5.47593808499534494600e-4,
                                1.05075007164441684324e-9};
    static const double e[8] = {6.65790464350110377720e0,  5.46378491116411436990e0,  1.78482653991729133580e0,
                                2.96560571828504891230e-1, 2.65321895265761230930e-2, 1.24266094738807843860e-3,
                                2.71155556874348757815e-5, 2.01033439929228813265e-7};
    static const double f[8] = {1.0,
                                5.99832206555887937690e-1,
                                1.36929880922735805310e-1,
                                1.48753612908506148525e-2,
                                7.86869131145613259100e-4,
                                1.84631831751005468180e-5,
                                1.42151175831644588870e-7,
                                2.04426310338993978564e-15};
    const double q = p_1 - 0.5;
    if (fabs(q) <= 0.425) {
        const double r = 0.180625 - q * q;
        return q * polynomial(a, r) / polynomial(b, r);
    }
    const double tail = q < 0.0 ? p_1 : 1.0 - p_1;
    if (!(tail > 0.0))
        return tail == 0.0 ? copysign(INFINITY, q) : NAN;
    double r = sqrt(-log(tail));
    double x;
    if (r <= 5.0) {
        r -= 1.6;
        x = polynomial(c, r) / polynomial(d, r);
    } else {
        r -= 5.0;
        x = polynomial(e, r) / polynomial(f, r);
    }
    return copysign(x, q);
}
