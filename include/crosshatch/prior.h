/**
 * @file prior.h
 * What a sound engine of unknown detail is taken to be: a few constants, fitted once to published service figures.
 *
 * docs/method.md, "The sound engine", tells how they were fitted (22 engines), how well, and to what they were not fitted.
 */
#ifndef CROSSHATCH_PRIOR_H
#define CROSSHATCH_PRIOR_H

/** Ring leak area of a sound cylinder, m2 effective, per metre of bore; median. */
#define CH_PRIOR_RING_M2_PER_M (0.25e-6 / 0.084)
/** Standard deviation of the logarithm of a sound cylinder's ring area: between engines, and between cylinders of one engine. */
#define CH_PRIOR_RING_SD_ENGINE 0.40
#define CH_PRIOR_RING_SD_CYLINDER 0.20
/** Annand's a while cranking: centre after model and literature (Annand 1963: 0.35..0.8), standard deviation of its logarithm. */
#define CH_PRIOR_ANNAND 0.8
#define CH_PRIOR_ANNAND_SD 0.25
/** The lift at which timing holds where a book does not say, m; standard deviation of the closing angle that this leaves, rad. */
#define CH_PRIOR_UNSTATED_LIFT_M 1e-4
#define CH_PRIOR_UNSTATED_CLOSES_SD_RAD 0.105
/** Standard deviation of the closing angle where the lift is stated (wear of the drive, cam tolerance), and where nothing is known, rad. */
#define CH_PRIOR_STATED_CLOSES_SD_RAD 0.052
#define CH_PRIOR_UNKNOWN_CLOSES_SD_RAD 0.21
/** Standard deviation of ln(ratio - 1): real against nominal, and where the ratio is not known. */
#define CH_PRIOR_RATIO_SD 0.03
#define CH_PRIOR_RATIO_UNKNOWN_SD 0.13
/** Standard deviation of the logarithm of the adapter's volume where it is not stated. */
#define CH_PRIOR_DEAD_SD 0.5

#endif
