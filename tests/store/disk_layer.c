#include "disk_layer.h"

#include <string.h>

/* A file of ours, with the system's behind it in the same memory. SQLite keeps the name as long as the file is open. */
typedef struct layer_file {
    sqlite3_file base;
    sqlite3_file *real;
    const char *name;
    int flags;
    bool fresh; /* made by this opening, and not flushed since */
} layer_file;

static sqlite3_vfs *system_vfs;
static disk_hooks hook;

static layer_file *ours_of(sqlite3_file *file)
{
    return (layer_file *)(void *)file;
}

static sqlite3_file *real_of(sqlite3_file *file)
{
    return ours_of(file)->real;
}

static disk_call call_of(disk_call_kind kind, sqlite3_file *file)
{
    const layer_file *ours = ours_of(file);
    return (disk_call){.kind = kind, .name = ours->name, .flags = ours->flags, .fresh = ours->fresh};
}

static int before(disk_call *call)
{
    return hook.before != NULL ? hook.before(call) : SQLITE_OK;
}

static int after(const disk_call *call, int code)
{
    if (code == SQLITE_OK && hook.after != NULL)
        hook.after(call);
    return code;
}

static int layer_close(sqlite3_file *file)
{
    return real_of(file)->pMethods->xClose(real_of(file));
}

static int layer_read(sqlite3_file *file, void *bytes, int amount, sqlite3_int64 at)
{
    disk_call call = call_of(DISK_READ, file);
    const int code = before(&call);
    return code != SQLITE_OK ? code : real_of(file)->pMethods->xRead(real_of(file), bytes, amount, at);
}

static int layer_write(sqlite3_file *file, const void *bytes, int amount, sqlite3_int64 at)
{
    disk_call call = call_of(DISK_WRITE, file);
    call.bytes = bytes;
    call.amount = amount;
    call.at = at;
    const int code = before(&call);
    if (code != SQLITE_OK && call.arrives > 0)
        (void)real_of(file)->pMethods->xWrite(real_of(file), bytes, call.arrives, at);
    return code != SQLITE_OK ? code : after(&call, real_of(file)->pMethods->xWrite(real_of(file), bytes, amount, at));
}

static int layer_truncate(sqlite3_file *file, sqlite3_int64 size)
{
    disk_call call = call_of(DISK_TRUNCATE, file);
    call.at = size;
    const int code = before(&call);
    return code != SQLITE_OK ? code : after(&call, real_of(file)->pMethods->xTruncate(real_of(file), size));
}

static int layer_sync(sqlite3_file *file, int flags)
{
    disk_call call = call_of(DISK_FLUSH, file);
    int code = before(&call);
    if (code != SQLITE_OK)
        return code;
    code = after(&call, real_of(file)->pMethods->xSync(real_of(file), flags));
    if (code == SQLITE_OK)
        ours_of(file)->fresh = false;
    return code;
}

static int layer_size(sqlite3_file *file, sqlite3_int64 *size)
{
    disk_call call = call_of(DISK_SIZE, file);
    const int code = before(&call);
    return code != SQLITE_OK ? code : real_of(file)->pMethods->xFileSize(real_of(file), size);
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
    disk_call call = call_of(DISK_SHARED, file);
    const int code = before(&call);
    return code != SQLITE_OK ? code : real_of(file)->pMethods->xShmMap(real_of(file), page, size, extend, memory);
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
    layer_file *ours = ours_of(file);
    ours->base.pMethods = NULL;
    ours->real = (sqlite3_file *)(void *)(ours + 1);
    ours->name = name;
    ours->flags = flags;
    memset(ours->real, 0, (size_t)system_vfs->szOsFile);
    int there = 1;
    if (name != NULL)
        (void)system_vfs->xAccess(system_vfs, name, SQLITE_ACCESS_EXISTS, &there);
    ours->fresh = !there;
    disk_call call = call_of(DISK_OPEN, file);
    int code = before(&call);
    if (code != SQLITE_OK)
        return code;
    code = system_vfs->xOpen(system_vfs, name, ours->real, flags, flags_out);
    if (ours->real->pMethods != NULL)
        ours->base.pMethods = &layer_methods;
    return after(&call, code);
}

static int layer_delete(sqlite3_vfs *vfs, const char *name, int folder)
{
    (void)vfs;
    disk_call call = {.kind = DISK_DELETE, .name = name, .folder = folder != 0};
    const int code = before(&call);
    return code != SQLITE_OK ? code : after(&call, system_vfs->xDelete(system_vfs, name, folder));
}

void disk_layer_begin(disk_hooks hooks)
{
    static sqlite3_vfs layer;
    hook = hooks;
    if (system_vfs != NULL)
        return;
    system_vfs = sqlite3_vfs_find(NULL);
    layer = *system_vfs;
    layer.zName = "disk_layer";
    layer.szOsFile = (int)sizeof(layer_file) + system_vfs->szOsFile;
    layer.xOpen = layer_open;
    layer.xDelete = layer_delete;
    sqlite3_vfs_register(&layer, 1);
}
