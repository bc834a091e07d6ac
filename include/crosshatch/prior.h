/**
 * @file prior.h
 * What a sound engine of unknown detail is taken to be, and how much stays in doubt: every constant with its reason.
 *
 * The centre of the ring area was fitted once to published service figures (22 engines, tests/data/engines); docs/prior.md tells how, how well,
 * and what was not fitted. bench/study_prior.c repeats the fit, tests/unit/test_prior.c holds the result.
 * Standard deviations of logarithms are "relative" below: 0.25 = a factor of 1.28 either way.
 */
#ifndef CROSSHATCH_PRIOR_H
#define CROSSHATCH_PRIOR_H

/** Ring leak area of a sound cylinder, m2 effective, per metre of bore; median. Fitted: 0.27 mm2 at 84 mm bore, flat from 0.2 to 0.35. */
#define CH_PRIOR_RING_M2_PER_M (0.25e-6 / 0.084)
/**
 * Relative spread of a sound cylinder's ring area: between engines (new and run in, thick oil and thin), and between cylinders of one engine.
 * Choice: factors of 1.5 and 1.2, so that 90 % of sound cylinders lie between 0.12 and 0.52 mm2 at 84 mm bore.
 */
#define CH_PRIOR_RING_SD_ENGINE 0.40
#define CH_PRIOR_RING_SD_CYLINDER 0.20

/**
 * Annand's a while cranking. Annand, Proc. IMechE 177 (1963) 973: 0.35..0.8; the upper end, since at cranking speed the gas is stirred least
 * and its motion by the piston's speed alone underrates it. Not fitted. Its spread moves a reading by 5 %.
 */
#define CH_PRIOR_ANNAND 0.8
#define CH_PRIOR_ANNAND_SD 0.25

/**
 * The lift at which timing holds where a book does not say, m: seat timing. The figures prefer 0.05 to 0.1 mm and rule out 0.4 mm; 0.1 mm is kept,
 * since the test sheet documents it.
 */
#define CH_PRIOR_UNSTATED_LIFT_M 1e-4
/**
 * Standard deviation of the closing angle, rad. Lift stated: 3 degrees for chain or belt, cam and phaser. Lift not stated: 6 degrees, as the
 * closing of a usual cam at 0.4 mm instead of 0.1 mm lies 10 degrees earlier. No timing at all: 12 degrees, the spread of the published engines.
 */
#define CH_PRIOR_STATED_CLOSES_SD_RAD 0.052
#define CH_PRIOR_UNSTATED_CLOSES_SD_RAD 0.105
#define CH_PRIOR_UNKNOWN_CLOSES_SD_RAD 0.21

/**
 * Relative, of ratio less one. Stated: 3 %, a clearance of 50 ml known within 1.5 ml by head gasket, skimmed head, deck height and carbon
 * (common practice). Not stated: 13 %, the spread of the published engines.
 */
#define CH_PRIOR_RATIO_SD 0.03
#define CH_PRIOR_RATIO_UNKNOWN_SD 0.13

/** Relative, of the cranking speed: read from a meter or a phone's sound; not stated (makers print 150 to 400 rpm for their figures). */
#define CH_PRIOR_SPEED_SD 0.05
#define CH_PRIOR_SPEED_UNKNOWN_SD 0.22

/** Engine temperature, K: measured at one place; "warm" or nothing said. */
#define CH_PRIOR_WALL_SD_K 6.0
#define CH_PRIOR_WALL_UNKNOWN_SD_K 15.0

/**
 * The gauge, relative: stated by its owner, and not. Hoses run from 0.3 to 0.6 m of 4 to 6 mm bore (6 to 17 ml with the dial), adapters from
 * next to nothing to some ml; the check valve is a tyre valve core. All common practice. A check valve at the dial's end (8 to 15 ml ahead of it) is
 * an instrument of another kind, far out in this spread: it has to be stated.
 */
#define CH_PRIOR_HOSE_SD 0.1
#define CH_PRIOR_HOSE_UNKNOWN_SD 0.4
#define CH_PRIOR_DEAD_SD 0.15
#define CH_PRIOR_DEAD_UNKNOWN_SD 0.5
#define CH_PRIOR_CHECK_AREA_SD 0.2
#define CH_PRIOR_CHECK_AREA_UNKNOWN_SD 0.3
#define CH_PRIOR_OPENING_SD 0.2
#define CH_PRIOR_OPENING_UNKNOWN_SD 0.6
/** Largest error of a gauge without a stated accuracy, of its span: one grade worse than ASME B40.100 grade B (2 % in the middle, 3 % outside). */
#define CH_PRIOR_GAUGE_LIMIT_OF_SPAN 0.03

/** Relative, of the crevice where it is not stated: ring lands of 1 to 2 % of the clearance (Heywood 1988, 8.6). */
#define CH_PRIOR_CREVICE_UNKNOWN_SD 0.4
/** Relative, of what a shut throttle leaves open: idle stops and idle valves differ (common practice). */
#define CH_PRIOR_THROTTLE_SD 0.5
/** Strokes more or fewer, where "until it stops rising" is all that was done. */
#define CH_PRIOR_STROKES_UNKNOWN_SD 1.0

#endif
