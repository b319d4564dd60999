/* A disk that fails: put before the C library by LD_PRELOAD, it lets so many calls on
 * journals through (TRAYZERO_FAIL_AFTER), fails the next ones (TRAYZERO_FAIL_CALLS) with
 * an input/output error, and lets all later ones through again. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static atomic_long calls;

static int is_journal(int file)
{
    char link[64], path[4096];
    snprintf(link, sizeof link, "/proc/self/fd/%d", file);
    ssize_t length = readlink(link, path, sizeof path - 1);
    if (length < 6)
        return 0;
    path[length] = 0;
    return strcmp(path + length - 6, ".jsonl") == 0;
}

static long number(const char *name)
{
    const char *text = getenv(name);
    return text ? atol(text) : 0;
}

static int fails(int file)
{
    if (!getenv("TRAYZERO_FAIL_AFTER") || !is_journal(file))
        return 0;
    long call = atomic_fetch_add(&calls, 1);
    long after = number("TRAYZERO_FAIL_AFTER");
    if (call < after || call >= after + number("TRAYZERO_FAIL_CALLS"))
        return 0;
    errno = EIO;
    return 1;
}

ssize_t write(int file, const void *bytes, size_t count)
{
    static ssize_t (*real)(int, const void *, size_t);
    if (!real)
        real = (ssize_t (*)(int, const void *, size_t))dlsym(RTLD_NEXT, "write");
    return fails(file) ? -1 : real(file, bytes, count);
}

int fdatasync(int file)
{
    static int (*real)(int);
    if (!real)
        real = (int (*)(int))dlsym(RTLD_NEXT, "fdatasync");
    return fails(file) ? -1 : real(file);
}

int ftruncate64(int file, off64_t length)
{
    static int (*real)(int, off64_t);
    if (!real)
        real = (int (*)(int, off64_t))dlsym(RTLD_NEXT, "ftruncate64");
    return fails(file) ? -1 : real(file, length);
}
