/* Drawing a QR symbol with the half blocks of Unicode: two modules to a character, so that it is about square. */
#define _DEFAULT_SOURCE /* getifaddrs, IFF_UP */
#include "pairing_qr.h"

#include <arpa/inet.h>
#include <errno.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <netinet/in.h>
#include <qrencode.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

enum { QUIET_ZONE = 4 }; /* modules around the symbol; ISO/IEC 18004 asks for four */

static bool dark(const QRcode *code, int row, int column)
{
    if (row < 0 || column < 0 || row >= code->width || column >= code->width)
        return false;
    return (code->data[row * code->width + column] & 1) != 0;
}

ch_status pairing_qr(const char *content, bool colour, ch_text *text, ch_err *err)
{
    QRcode *code = QRcode_encodeString8bit(content, 0, QR_ECLEVEL_M);
    if (code == NULL && errno == ENOMEM)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a QR symbol");
    if (code == NULL)
        return ch_fail(err, CH_E_LIMIT, "2331 bytes at most", "a text of %zu bytes does not fit a QR symbol",
                       strlen(content));
    for (int row = -QUIET_ZONE; row < code->width + QUIET_ZONE; row += 2) {
        ch_text_append_string(text, colour ? "\033[30;107m" : "");
        for (int column = -QUIET_ZONE; column < code->width + QUIET_ZONE; column++) {
            /* Without colours the light modules are drawn: what is drawn is light on a dark terminal. */
            const bool upper = dark(code, row, column) == colour, lower = dark(code, row + 1, column) == colour;
            ch_text_append_string(text, upper && lower ? "\u2588" : upper ? "\u2580" : lower ? "\u2584" : " ");
        }
        ch_text_append_string(text, colour ? "\033[0m\n" : "\n");
    }
    QRcode_free(code);
    return ch_text_check(text, err);
}

/* RFC 1918. */
static bool is_private(uint32_t address)
{
    return address >> 24 == 10 || address >> 20 == 0xac1 || address >> 16 == 0xc0a8;
}

/* The address that this machine would use towards the world: asking for it sends nothing. 192.0.2.1 is nobody's (RFC 5737). */
static bool route_address(char address[64])
{
    const int descriptor = socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0);
    struct sockaddr_in v4 = {.sin_family = AF_INET, .sin_port = htons(9)};
    socklen_t size = sizeof v4;
    if (descriptor < 0)
        return false;
    v4.sin_addr.s_addr = htonl(0xc0000201);
    const bool found = connect(descriptor, (const struct sockaddr *)&v4, sizeof v4) == 0 &&
                       getsockname(descriptor, (struct sockaddr *)&v4, &size) == 0 &&
                       ntohl(v4.sin_addr.s_addr) >> 24 != 127 && inet_ntop(AF_INET, &v4.sin_addr, address, 64) != NULL;
    close(descriptor);
    return found;
}

bool pairing_address(char address[64])
{
    if (route_address(address))
        return true;
    struct ifaddrs *all = NULL;
    bool found = false, found_private = false;
    if (getifaddrs(&all) != 0)
        return false;
    for (const struct ifaddrs *one = all; one != NULL && !found_private; one = one->ifa_next) {
        if (one->ifa_addr == NULL || one->ifa_addr->sa_family != AF_INET || !(one->ifa_flags & IFF_UP) ||
            (one->ifa_flags & IFF_LOOPBACK))
            continue;
        struct sockaddr_in v4;
        memcpy(&v4, one->ifa_addr, sizeof v4);
        found_private = is_private(ntohl(v4.sin_addr.s_addr));
        if (found && !found_private)
            continue;
        found = inet_ntop(AF_INET, &v4.sin_addr, address, 64) != NULL;
    }
    freeifaddrs(all);
    return found;
}
