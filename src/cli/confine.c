#define _GNU_SOURCE /* syscall, O_PATH */
#include "confine.h"

#ifdef HAVE_LANDLOCK /* the kernel's header was there when this was built: meson.build */

#include <fcntl.h>
#include <linux/landlock.h>
#include <stdint.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <unistd.h>

/* Later than the headers that the oldest supported system has. */
static const uint64_t REFER = UINT64_C(1) << 13, TRUNCATE = UINT64_C(1) << 14;

static uint64_t rights_of(long version)
{
    uint64_t rights = LANDLOCK_ACCESS_FS_WRITE_FILE | LANDLOCK_ACCESS_FS_REMOVE_DIR | LANDLOCK_ACCESS_FS_REMOVE_FILE |
                      LANDLOCK_ACCESS_FS_MAKE_CHAR | LANDLOCK_ACCESS_FS_MAKE_DIR | LANDLOCK_ACCESS_FS_MAKE_REG |
                      LANDLOCK_ACCESS_FS_MAKE_SOCK | LANDLOCK_ACCESS_FS_MAKE_FIFO | LANDLOCK_ACCESS_FS_MAKE_BLOCK |
                      LANDLOCK_ACCESS_FS_MAKE_SYM;
    if (version >= 2)
        rights |= REFER;
    if (version >= 3)
        rights |= TRUNCATE;
    return rights;
}

static void allow(int rules, const char *folder, uint64_t rights)
{
    struct landlock_path_beneath_attr beneath = {.allowed_access = rights};
    beneath.parent_fd = open(folder, O_PATH | O_DIRECTORY | O_CLOEXEC);
    if (beneath.parent_fd < 0)
        return;
    (void)syscall(SYS_landlock_add_rule, rules, LANDLOCK_RULE_PATH_BENEATH, &beneath, 0);
    close(beneath.parent_fd);
}

bool confine_writing(const char *const folders[], size_t count)
{
    const long version = syscall(SYS_landlock_create_ruleset, NULL, 0, LANDLOCK_CREATE_RULESET_VERSION);
    if (version < 1)
        return false;
    const struct landlock_ruleset_attr handled = {.handled_access_fs = rights_of(version)};
    const int rules = (int)syscall(SYS_landlock_create_ruleset, &handled, sizeof handled, 0);
    if (rules < 0)
        return false;
    for (size_t i = 0; i < count; i++)
        allow(rules, folders[i], handled.handled_access_fs);
    /* needed by the kernel, and wanted: no program started from here gains rights */
    const bool done = prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 && syscall(SYS_landlock_restrict_self, rules, 0) == 0;
    close(rules);
    return done;
}

#else

bool confine_writing(const char *const folders[], size_t count)
{
    (void)folders;
    (void)count;
    return false;
}

#endif
