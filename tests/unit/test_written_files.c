/* A file that is said to be written is there after a power cut: its bytes and, last, its name are flushed. The folder's flush is seen through the linker's --wrap of fsync. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../../src/cli/file.h"
#include "../../src/cli/file_stream.h"
#include "expect.h"

static char folder[64], path[128];
static int named; /* flushes of the folder that found the file under its name */
static int bytes_flushed;

int __real_fsync(int descriptor);
int __wrap_fsync(int descriptor);

int __wrap_fsync(int descriptor)
{
    struct stat flushed, wanted, file;
    if (fstat(descriptor, &flushed) == 0 && S_ISDIR(flushed.st_mode))
        named += stat(folder, &wanted) == 0 && wanted.st_ino == flushed.st_ino && stat(path, &file) == 0;
    else
        bytes_flushed++;
    return __real_fsync(descriptor);
}

static int begin(void **state)
{
    (void)state;
    named = bytes_flushed = 0;
    snprintf(folder, sizeof folder, "/tmp/crosshatch-written-XXXXXX");
    if (mkdtemp(folder) == NULL)
        return -1;
    snprintf(path, sizeof path, "%s/file", folder);
    return 0;
}

static int end(void **state)
{
    (void)state;
    unlink(path);
    return rmdir(folder);
}

static void expect_lasting(void)
{
    assert_int_equal(bytes_flushed, 1);
    assert_int_equal(named, 1);
}

static void a_created_file_lasts(void **state)
{
    (void)state;
    ch_err err = {0};
    assert_int_equal(file_create(path, "kept", 4, &err), CH_OK);
    expect_lasting();
    assert_int_equal(file_create(path, "else", 4, &err), CH_E_INPUT);
    expect_lasting();
}

static void a_written_file_lasts(void **state)
{
    (void)state;
    ch_err err = {0};
    assert_int_equal(file_write(path, "kept", 4, &err), CH_OK);
    expect_lasting();
}

static void a_file_that_grew_lasts(void **state)
{
    (void)state;
    ch_err err = {0};
    file_new *file = NULL;
    assert_int_equal(file_new_open(path, &file, &err), CH_OK);
    assert_int_equal(file_new_write("kept", 4, file, &err), CH_OK);
    assert_int_equal(named, 0);
    assert_int_equal(file_new_keep(file, &err), CH_OK);
    expect_lasting();
}

static void a_name_that_was_taken_meanwhile_is_left_alone(void **state)
{
    (void)state;
    ch_err err = {0};
    file_new *file = NULL;
    struct stat there;
    assert_int_equal(file_new_open(path, &file, &err), CH_OK);
    assert_int_equal(file_new_write("kept", 4, file, &err), CH_OK);
    assert_int_equal(file_create(path, "theirs", 6, &err), CH_OK);
    named = 0;
    assert_int_equal(file_new_keep(file, &err), CH_E_INPUT);
    assert_int_equal(named, 0);
    assert_int_equal(stat(path, &there), 0);
    assert_int_equal(there.st_size, 6);
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROMISE(a_created_file_lasts),
        PROMISE(a_written_file_lasts),
        PROMISE(a_file_that_grew_lasts),
        PROMISE(a_name_that_was_taken_meanwhile_is_left_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
