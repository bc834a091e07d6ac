/* The key that signs the cookies: kept in the state folder, so that devices stay let in when the program is started again. */
#include <string.h>

#include "session.h"
#include "state_file.h"

static const char NAME[] = "session.key";

ch_status web_key_load(unsigned char key[WEB_KEY_SIZE], bool *kept, ch_err *err)
{
    unsigned char found[WEB_KEY_SIZE];
    size_t length = 0;
    if (state_file_read(NAME, found, sizeof found, &length) && length == sizeof found) {
        memcpy(key, found, sizeof found);
        *kept = true;
        return CH_OK;
    }
    const ch_status rc = web_random(found, sizeof found, err);
    if (rc < 0)
        return rc;
    *kept = state_file_write(NAME, found, sizeof found);
    memcpy(key, found, sizeof found);
    return CH_OK;
}
