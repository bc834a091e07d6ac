/**
 * @file hash.h
 * FNV-1a, 64 bits: tells things apart, and guards nothing. Source: Fowler, Noll, Vo and Eastlake, "The FNV Non-Cryptographic Hash Algorithm",
 * RFC 9923.
 */
#ifndef CROSSHATCH_HASH_H
#define CROSSHATCH_HASH_H

#include <stddef.h>
#include <stdint.h>

/** The hash of nothing. */
#define CH_HASH_BEGIN UINT64_C(0xcbf29ce484222325)

/** Another beginning, for a second hash of the same bytes, where 64 bits are too few: the first's halves exchanged. */
#define CH_HASH_BEGIN_OTHER UINT64_C(0x84222325cbf29ce4)

/**
 * Go on with a hash by more bytes; in pieces it comes to the same as at once.
 *
 * @param hash   Of what came before; CH_HASH_BEGIN where nothing did.
 * @param bytes  `length` bytes; may be NULL where that is 0.
 * @param length Bytes.
 * @return The hash of all.
 */
uint64_t ch_hash(uint64_t hash, const void *bytes, size_t length);

#endif
