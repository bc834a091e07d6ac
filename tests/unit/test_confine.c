/* Once confined, a process writes in its folders alone, whatever it tries. Tried in children, because there is no way back. */
#include "../../src/cli/confine.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "expect.h"

static char folder[64];

static const char *in(const char *name)
{
    static char paths[4][160];
    static int next;
    char *path = paths[next++ % 4];
    snprintf(path, sizeof paths[0], "%s/%s", folder, name);
    return path;
}

static void put(const char *path)
{
    const int descriptor = open(path, O_WRONLY | O_CREAT, 0600);
    assert_true(descriptor >= 0);
    assert_int_equal(write(descriptor, "kept", 4), 4);
    close(descriptor);
}

static int begin(void **state)
{
    (void)state;
    snprintf(folder, sizeof folder, "/tmp/crosshatch-confine-XXXXXX");
    if (mkdtemp(folder) == NULL || mkdir(in("ours"), 0700) != 0 || mkdir(in("theirs"), 0700) != 0)
        return -1;
    put(in("ours/garage.db"));
    put(in("theirs/diary"));
    return symlink(in("theirs/diary"), in("ours/link"));
}

static int end(void **state)
{
    (void)state;
    char command[128];
    snprintf(command, sizeof command, "rm -r '%s'", folder);
    return system(command);
}

static int opened(const char *path, int flags)
{
    const int descriptor = open(path, flags, 0600);
    const int error = errno;
    if (descriptor < 0)
        return error;
    close(descriptor);
    return 0;
}

static int error_of(int code)
{
    return code == 0 ? 0 : errno;
}

/* In a confined child: 0, or the number of the first attempt that went otherwise than it should. 99: the system cannot, and nothing has changed;
 * 98: it says that it cannot, and something has. */
static int attempts(void)
{
    const char *const ours[] = {in("ours")};
    if (!confine_writing(ours, 1))
        return opened(in("theirs/diary"), O_WRONLY) == 0 && opened(in("theirs/new"), O_WRONLY | O_CREAT) == 0 ? 99 : 98;
    const struct {
        int error;
        bool refused;
    } tried[] = {
        {opened(in("ours/garage.db"), O_RDWR), false},
        {opened(in("ours/garage.db-wal"), O_RDWR | O_CREAT), false},
        {error_of(rename(in("ours/garage.db-wal"), in("ours/other"))), false},
        {error_of(unlink(in("ours/other"))), false},
        {opened(in("theirs/diary"), O_RDONLY), false},
        {opened("/etc/passwd", O_RDONLY), false},
        {opened(in("theirs/diary"), O_WRONLY), true},
        {opened(in("theirs/diary"), O_WRONLY | O_TRUNC), true},
        {opened(in("ours/link"), O_WRONLY), true},
        {opened(in("ours/../theirs/diary"), O_RDWR), true},
        {opened(in("theirs/new"), O_WRONLY | O_CREAT), true},
        {opened(in("new"), O_WRONLY | O_CREAT), true},
        {error_of(mkdir(in("theirs/new"), 0700)), true},
        {error_of(symlink("x", in("theirs/new"))), true},
        {error_of(unlink(in("theirs/diary"))), true},
        {error_of(rename(in("theirs/diary"), in("theirs/moved"))), true},
        {error_of(rename(in("ours/garage.db"), in("theirs/garage.db"))), true},
        {error_of(link(in("theirs/diary"), in("ours/diary"))), true},
    };
    for (size_t i = 0; i < sizeof tried / sizeof tried[0]; i++) {
        const bool refused = tried[i].error == EACCES || tried[i].error == EXDEV || tried[i].error == EPERM;
        if (refused != tried[i].refused || (!refused && tried[i].error != 0))
            return (int)i + 1;
    }
    return 0;
}

static void a_confined_process_writes_in_its_folder_alone(void **state)
{
    (void)state;
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0)
        _exit(attempts());
    int status = -1;
    struct stat diary;
    waitpid(child, &status, 0);
    assert_true(WIFEXITED(status));
    if (WEXITSTATUS(status) == 99)
        print_message("# this kernel has no Landlock: it said so, and nothing changed\n");
    else
        assert_int_equal(WEXITSTATUS(status), 0);
    assert_int_equal(stat(in("theirs/diary"), &diary), 0);
    assert_int_equal(diary.st_size, 4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_confined_process_writes_in_its_folder_alone, begin, end),
    };
    return cmocka_run_group_tests_name("confine", tests, NULL, NULL);
}
