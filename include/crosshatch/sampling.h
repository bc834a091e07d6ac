/**
 * @file sampling.h
 * Random and evenly spread numbers by seed, and what is done with weighted draws.
 *
 * A stream's whole state is the caller's struct; the same seed and index give the same numbers on every machine and in
 * any order of work. Not for secrets.
 */
#ifndef CROSSHATCH_SAMPLING_H
#define CROSSHATCH_SAMPLING_H

#include <stddef.h>
#include <stdint.h>

#include "crosshatch/status.h"

/** A random stream. Fields are private to sampling.c. */
typedef struct ch_stream {
    uint64_t s[4];
} ch_stream;

/**
 * Start the stream number `index` of `seed`. Give each unit of work (a block, a cylinder, a particle) its own index: what it
 * draws then does not depend on what others draw or on their order.
 *
 * Source: generator xoshiro256++ 1.0, Blackman and Vigna, Scrambled Linear Pseudorandom Number Generators, ACM Trans. Math.
 * Softw. 47 (2021) 36; state filled by SplitMix64, Steele, Lea and Flood, OOPSLA 2014, as its authors advise.
 * Period 2^256 - 1, so that two of 2^64 streams overlap in practice never.
 */
void ch_stream_init(ch_stream *stream, uint64_t seed, uint64_t index);

/** Next 64 random bits. */
uint64_t ch_stream_bits(ch_stream *stream);

/** Uniform in the open interval (0, 1): (k + 1/2) 2^-52 with 52 random bits k, so never 0 or 1. */
double ch_stream_uniform(ch_stream *stream);

/** Standard normal by inversion: one uniform a draw, so streams stay in step. */
double ch_stream_normal(ch_stream *stream);

/** Lognormal of median `median` (> 0) and sd of the logarithm `sd_log_1` (>= 0). */
double ch_stream_lognormal(ch_stream *stream, double median, double sd_log_1);

/**
 * Gamma variate of shape `shape` (>= 1) and scale 1, by rejection: how many numbers of the stream it takes differs from draw to draw.
 *
 * Source: Marsaglia and Tsang, A Simple Method for Generating Gamma Variables, ACM Trans. Math. Softw. 26 (2000) 363.
 */
double ch_stream_gamma(ch_stream *stream, double shape);

/**
 * Quantile of the standard normal: x with Phi(x) = p.
 *
 * @param p_1 0..1; 0 and 1 give -+infinity, outside NaN. Relative error about 1e-16 down to the smallest p.
 *
 * Source: Wichura, Algorithm AS 241 (PPND16), Applied Statistics 37 (1988) 477.
 */
double ch_normal_quantile(double p_1);

enum { CH_SOBOL_DIMENSIONS_MAX = 40 };

/**
 * Points of a scrambled Sobol sequence: the unit cube filled evenly, with a randomness that gives unbiased averages whose
 * error falls nearly as 1/n, for smooth functions as n^(-3/2). Best for n a power of two (the sequence starts at its first
 * point, so 2^m points are a net).
 *
 * @param seed       Chooses the scrambling; independent seeds give independent repeats, from whose scatter the error follows.
 * @param dimensions 1..CH_SOBOL_DIMENSIONS_MAX.
 * @param n          Points, up to 2^30.
 * @param points     (out) n rows of `dimensions` numbers in the open interval (0, 1). Untouched on failure.
 * @retval CH_E_LIMIT  Dimensions or n outside these ranges.
 * @retval CH_E_MEMORY
 *
 * Source: Sobol sequence with the direction numbers of Bratley and Fox, ACM TOMS 14 (1988) 88 (as in GSL); random linear
 * scrambling with a digital shift: Matousek, On the L2-Discrepancy for Anchored Boxes, J. Complexity 14 (1998) 527; that its
 * variance is that of Owen's nested scrambling: Owen, ACM Trans. Model. Comput. Simul. 13 (2003) 363. Keeping the first
 * point: Owen, On Dropping the First Sobol' Point, MCQMC 2020.
 */
ch_status ch_sobol_points(uint64_t seed, size_t dimensions, size_t n, double points[], ch_err *err);

/**
 * log(sum exp(x_i)) without overflow. -infinity for n = 0 or where all are; NaN where one is NaN; +infinity where one is.
 *
 * Source: Blanchard, Higham and Higham, IMA J. Numer. Anal. 41 (2021) 2311.
 */
double ch_log_sum_exp(const double x[], size_t n);

/**
 * Weights that add up to 1 from logarithms of unnormalised weights.
 *
 * @param log_weight Finite or -infinity. @param weight (out) May be the same array. Untouched on failure.
 * @param n          Of each of the arrays, >= 1.
 * @retval CH_E_RANGE n = 0, a NaN or +infinity, or all weights zero.
 */
ch_status ch_weights_from_logs(const double log_weight[], size_t n, double weight[], ch_err *err);

/**
 * Effective sample size (sum w)^2 / sum w^2 of weights >= 0, between 1 and n; NaN where a weight is negative or NaN or all
 * are zero. Source: Kish, Survey Sampling, 1965, 11.7.
 */
double ch_effective_sample_size(const double weight[], size_t n);

/**
 * Systematic resampling: m draws from n weighted ones, each i taken floor or ceil of m w_i times, in order of index.
 *
 * @param weight  >= 0, sum > 0; need not add up to 1.
 * @param n       Of `weight`.
 * @param start_1 One uniform number in (0, 1); the only randomness.
 * @param m       Draws wanted, of `index`.
 * @param index   (out) m indices, ascending. Untouched on failure.
 * @retval CH_E_RANGE A weight negative or not finite, all zero, or start outside (0, 1).
 *
 * Source: Kitagawa, J. Comput. Graph. Stat. 5 (1996) 1; Douc, Cappe and Moulines, ISPA 2005.
 */
ch_status ch_resample_systematic(const double weight[], size_t n, double start_1, size_t m, size_t index[],
                                 ch_err *err);

#endif
