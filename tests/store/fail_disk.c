#include "fail_disk.h"

#include <sqlite3.h>
#include <string.h>

static struct {
    bool armed, on, failed;
    fail_kind kind;
    long left;
} fault;

void fail_disk_at(fail_kind kind, long n, bool on)
{
    fault.armed = true;
    fault.kind = kind;
    fault.left = n;
    fault.on = on;
    fault.failed = false;
}

bool fail_disk_stop(void)
{
    fault.armed = false;
    return fault.failed;
}

static bool fails_now(fail_kind kind)
{
    if (!fault.armed || fault.kind != kind)
        return false;
    const bool now = fault.left == 1 || (fault.on && fault.failed);
    if (fault.left > 0)
        fault.left--;
    fault.failed = fault.failed || now;
    return now;
}

/* A file of ours, with the system's behind it in the same memory. */
typedef struct layer_file {
    sqlite3_file base;
    sqlite3_file *real;
} layer_file;

static sqlite3_vfs *system_vfs;

static sqlite3_file *real_of(sqlite3_file *file)
{
    return ((layer_file *)(void *)file)->real;
}

static int layer_close(sqlite3_file *file)
{
    return real_of(file)->pMethods->xClose(real_of(file));
}

static int layer_read(sqlite3_file *file, void *bytes, int amount, sqlite3_int64 at)
{
    if (fails_now(FAIL_READ))
        return SQLITE_IOERR_READ;
    return real_of(file)->pMethods->xRead(real_of(file), bytes, amount, at);
}

static int layer_write(sqlite3_file *file, const void *bytes, int amount, sqlite3_int64 at)
{
    if (fails_now(FAIL_FULL))
        return SQLITE_FULL;
    if (fails_now(FAIL_WRITE)) {
        /* half of it arrives, as when the power goes */
        (void)real_of(file)->pMethods->xWrite(real_of(file), bytes, amount / 2, at);
        return SQLITE_IOERR_WRITE;
    }
    return real_of(file)->pMethods->xWrite(real_of(file), bytes, amount, at);
}

static int layer_truncate(sqlite3_file *file, sqlite3_int64 size)
{
    return fails_now(FAIL_WRITE) ? SQLITE_IOERR_TRUNCATE : real_of(file)->pMethods->xTruncate(real_of(file), size);
}

static int layer_sync(sqlite3_file *file, int flags)
{
    return fails_now(FAIL_FLUSH) ? SQLITE_IOERR_FSYNC : real_of(file)->pMethods->xSync(real_of(file), flags);
}

static int layer_size(sqlite3_file *file, sqlite3_int64 *size)
{
    return fails_now(FAIL_READ) ? SQLITE_IOERR_FSTAT : real_of(file)->pMethods->xFileSize(real_of(file), size);
}

static int layer_lock(sqlite3_file *file, int level)
{
    return real_of(file)->pMethods->xLock(real_of(file), level);
}

static int layer_unlock(sqlite3_file *file, int level)
{
    return real_of(file)->pMethods->xUnlock(real_of(file), level);
}

static int layer_check_lock(sqlite3_file *file, int *is)
{
    return real_of(file)->pMethods->xCheckReservedLock(real_of(file), is);
}

static int layer_control(sqlite3_file *file, int what, void *with)
{
    return real_of(file)->pMethods->xFileControl(real_of(file), what, with);
}

static int layer_sector(sqlite3_file *file)
{
    return real_of(file)->pMethods->xSectorSize(real_of(file));
}

static int layer_device(sqlite3_file *file)
{
    return real_of(file)->pMethods->xDeviceCharacteristics(real_of(file));
}

static int layer_shm_map(sqlite3_file *file, int page, int size, int extend, void volatile **memory)
{
    if (fails_now(FAIL_SHARED))
        return SQLITE_IOERR_SHMMAP;
    return real_of(file)->pMethods->xShmMap(real_of(file), page, size, extend, memory);
}

static int layer_shm_lock(sqlite3_file *file, int offset, int n, int flags)
{
    return real_of(file)->pMethods->xShmLock(real_of(file), offset, n, flags);
}

static void layer_shm_barrier(sqlite3_file *file)
{
    real_of(file)->pMethods->xShmBarrier(real_of(file));
}

static int layer_shm_unmap(sqlite3_file *file, int delete)
{
    return real_of(file)->pMethods->xShmUnmap(real_of(file), delete);
}

static const sqlite3_io_methods layer_methods = {
    .iVersion = 2,
    .xClose = layer_close,
    .xRead = layer_read,
    .xWrite = layer_write,
    .xTruncate = layer_truncate,
    .xSync = layer_sync,
    .xFileSize = layer_size,
    .xLock = layer_lock,
    .xUnlock = layer_unlock,
    .xCheckReservedLock = layer_check_lock,
    .xFileControl = layer_control,
    .xSectorSize = layer_sector,
    .xDeviceCharacteristics = layer_device,
    .xShmMap = layer_shm_map,
    .xShmLock = layer_shm_lock,
    .xShmBarrier = layer_shm_barrier,
    .xShmUnmap = layer_shm_unmap,
};

static int layer_open(sqlite3_vfs *vfs, const char *name, sqlite3_file *file, int flags, int *flags_out)
{
    (void)vfs;
    layer_file *ours = (layer_file *)(void *)file;
    ours->base.pMethods = NULL;
    ours->real = (sqlite3_file *)(void *)(ours + 1);
    memset(ours->real, 0, (size_t)system_vfs->szOsFile);
    if (fails_now(FAIL_OPEN))
        return SQLITE_CANTOPEN;
    const int code = system_vfs->xOpen(system_vfs, name, ours->real, flags, flags_out);
    if (ours->real->pMethods != NULL)
        ours->base.pMethods = &layer_methods;
    return code;
}

void fail_disk_begin(void)
{
    static sqlite3_vfs layer;
    system_vfs = sqlite3_vfs_find(NULL);
    layer = *system_vfs;
    layer.zName = "fail_disk";
    layer.szOsFile = (int)sizeof(layer_file) + system_vfs->szOsFile;
    layer.xOpen = layer_open;
    sqlite3_vfs_register(&layer, 1);
}
