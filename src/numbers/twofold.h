/*
 * Arithmetic with two doubles as one number of about 106 significant bits, for sums and small matrices whose cancellation
 * would eat a double. Every step is a plain IEEE operation or an fma, so the result is the same on every machine; an
 * extended long double is 80, 64 or 128 bits wide depending on the machine and under an emulator.
 *
 * Holds for finite values whose products stay clear of overflow and underflow; it breaks under -ffast-math.
 * Sources: Dekker, Numer. Math. 18 (1971) 224; Knuth, TAOCP 2, 4.2.2 (sum of two); Ogita, Rump and Oishi,
 * SIAM J. Sci. Comput. 26 (2005) 1955 (product of two by fma); Hida, Li and Bailey, ARITH-15 (2001) 155 (the rest).
 */
#ifndef CROSSHATCH_NUMBERS_TWOFOLD_H
#define CROSSHATCH_NUMBERS_TWOFOLD_H

#include <math.h>
#include <stddef.h>

/* The value hi + lo, where |lo| is at most half a unit in the last place of hi. */
typedef struct twofold {
    double hi, lo;
} twofold;

static inline twofold twofold_of(double a)
{
    return (twofold){a, 0.0};
}

static inline double twofold_round(twofold a)
{
    return a.hi + a.lo;
}

/* Exact a + b (Knuth). */
static inline twofold twofold_sum(double a, double b)
{
    const double s = a + b;
    const double c = s - a;
    return (twofold){s, (a - (s - c)) + (b - c)};
}

/* Exact a + b where |a| >= |b| or a = 0 (Dekker). */
static inline twofold twofold_sum_ordered(double a, double b)
{
    const double s = a + b;
    return (twofold){s, b - (s - a)};
}

/* Exact a b. */
static inline twofold twofold_product(double a, double b)
{
    const double p = a * b;
    return (twofold){p, fma(a, b, -p)};
}

static inline twofold twofold_add(twofold a, twofold b)
{
    twofold high = twofold_sum(a.hi, b.hi);
    const twofold low = twofold_sum(a.lo, b.lo);
    high = twofold_sum_ordered(high.hi, high.lo + low.hi);
    return twofold_sum_ordered(high.hi, high.lo + low.lo);
}

static inline twofold twofold_negate(twofold a)
{
    return (twofold){-a.hi, -a.lo};
}

static inline twofold twofold_subtract(twofold a, twofold b)
{
    return twofold_add(a, twofold_negate(b));
}

static inline twofold twofold_multiply(twofold a, twofold b)
{
    const twofold p = twofold_product(a.hi, b.hi);
    return twofold_sum_ordered(p.hi, p.lo + (a.hi * b.lo + a.lo * b.hi));
}

static inline twofold twofold_square(twofold a)
{
    return twofold_multiply(a, a);
}

static inline twofold twofold_divide(twofold a, twofold b)
{
    const double first = a.hi / b.hi;
    twofold rest = twofold_subtract(a, twofold_multiply(b, twofold_of(first)));
    const double second = rest.hi / b.hi;
    rest = twofold_subtract(rest, twofold_multiply(b, twofold_of(second)));
    const twofold quotient = twofold_sum_ordered(first, second);
    return twofold_add(quotient, twofold_of(rest.hi / b.hi));
}

/* Square root of a >= 0 by one Newton step from the double's root. */
static inline twofold twofold_root(twofold a)
{
    if (!(a.hi > 0.0))
        return twofold_of(a.hi == 0.0 ? 0.0 : NAN);
    const double root = sqrt(a.hi);
    const twofold rest = twofold_subtract(a, twofold_product(root, root));
    return twofold_sum_ordered(root, rest.hi / (2.0 * root));
}

/* Sum of x[0..n-1]. */
static inline twofold twofold_total(const double x[], size_t n)
{
    twofold total = {0.0, 0.0};
    for (size_t i = 0; i < n; i++)
        total = twofold_add(total, twofold_of(x[i]));
    return total;
}

#endif
