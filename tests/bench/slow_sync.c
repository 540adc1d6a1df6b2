/* Has every sync of a file take some time longer, as a disk takes that keeps what it was told:
   SYNC_MICROSECONDS of it. Loaded before the C library; see slow_sync.py. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <stdlib.h>
#include <time.h>

static int slowly(const char *name, int file)
{
    const char *told = getenv("SYNC_MICROSECONDS");
    long wait = told ? atol(told) : 0;
    struct timespec pause = {wait / 1000000, wait % 1000000 * 1000};
    int (*sync)(int) = (int (*)(int))dlsym(RTLD_NEXT, name);
    if (wait)
        nanosleep(&pause, NULL);
    return sync(file);
}

int fsync(int file) { return slowly("fsync", file); }
int fdatasync(int file) { return slowly("fdatasync", file); }
