/* Ends its process, as kill -9 does, before the STOP_AT-th call that changes a file or a folder. Loaded before
 * the C library (LD_PRELOAD), whose calls it stands in front of. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/types.h>

static void step(void)
{
    static int steps;
    const char *stop = getenv("STOP_AT");
    if (stop && __atomic_add_fetch(&steps, 1, __ATOMIC_SEQ_CST) == atoi(stop))
        raise(SIGKILL);
}

#define BEFORE(name, parameters, ...)                         \
    int name parameters                                       \
    {                                                         \
        int (*real) parameters = dlsym(RTLD_NEXT, #name);     \
        step();                                               \
        return real(__VA_ARGS__);                             \
    }

BEFORE(rename, (const char *from, const char *to), from, to)
BEFORE(unlink, (const char *path), path)
BEFORE(rmdir, (const char *path), path)
BEFORE(mkdir, (const char *path, mode_t mode), path, mode)
BEFORE(unlinkat, (int folder, const char *path, int flags), folder, path, flags)
BEFORE(fsync, (int file), file)
