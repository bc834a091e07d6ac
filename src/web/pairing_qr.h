/* A QR symbol for the terminal, and the address that a phone can reach. */
#ifndef CROSSHATCH_WEB_PAIRING_QR_H
#define CROSSHATCH_WEB_PAIRING_QR_H

#include <stdbool.h>

#include "crosshatch/text.h"

/*
 * Append the QR symbol (ISO/IEC 18004, error correction M) of `content` as lines of half blocks, light on dark and dark on light alike
 * readable: with `colour` black on white by ANSI codes, otherwise for a dark terminal.
 *
 * retval CH_E_LIMIT: too long for a symbol. CH_E_MEMORY.
 */
ch_status pairing_qr(const char *content, bool colour, ch_text *text, ch_err *err);

/* The first IPv4 address of this machine that others can reach, private ones first; false where it has none. */
bool pairing_address(char address[64]);

#endif
