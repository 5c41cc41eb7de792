/*
 * Writes down what a program asks of the disk, so that a power cut can be played afterwards.
 *
 * Preloaded before the C library. For files below DISK_ROOT every write, truncation, creation, removal and
 * renaming goes into the file DISK_LOG in the order in which it was made, and so do the begin and the end of
 * every fsync. All of it is done as well. What lies in shared memory (-shm) and the lock are not followed:
 * nobody expects them to outlive a power cut. The number in the file DISK_CUT, when it is not 0, says behind how
 * many more acts the power goes: the program is killed in the midst of the one that makes it 0.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <signal.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <unistd.h>

#define MOST 4096

struct head {
    uint64_t place; /* offset, size, or the number that ties the end of a sync to its begin */
    uint32_t path, more; /* bytes of each that follow */
    char kind;
    char pad[7];
};

static const char *root;
static int out = -1;
static uint64_t *left;
static char *name_of[MOST];
static uint64_t syncs;
static pthread_mutex_t one_at_a_time = PTHREAD_MUTEX_INITIALIZER;

#define REAL(name) \
    static __typeof__(name) *real; \
    if (!real) real = (__typeof__(name) *)dlsym(RTLD_NEXT, #name)

__attribute__((constructor)) static void begin(void)
{
    const char *log = getenv("DISK_LOG"), *cut = getenv("DISK_CUT");
    root = getenv("DISK_ROOT");
    if (log && root) out = (int)syscall(SYS_openat, AT_FDCWD, log, O_WRONLY | O_APPEND | O_CREAT | O_CLOEXEC, 0600);
    int fd = cut ? (int)syscall(SYS_openat, AT_FDCWD, cut, O_RDWR | O_CLOEXEC, 0) : -1;
    void *shared = fd < 0 ? MAP_FAILED : mmap(NULL, sizeof *left, PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0);
    if (shared != MAP_FAILED) left = shared;
    if (fd >= 0) syscall(SYS_close, fd);
}

static void note(char kind, const char *path, uint64_t place, const void *more, size_t size)
{
    struct head head = {place, (uint32_t)strlen(path), (uint32_t)size, kind, {0}};
    struct iovec parts[3] = {{&head, sizeof head}, {(void *)path, head.path}, {(void *)more, size}};
    if (writev(out, parts, 3) != (ssize_t)(sizeof head + head.path + size)) _exit(111);
    if (left && *left > 0 && __atomic_sub_fetch(left, 1, __ATOMIC_SEQ_CST) == 0) kill(getpid(), SIGKILL);
}

static int ends(const char *path, const char *end)
{
    size_t a = strlen(path), b = strlen(end);
    return a >= b && strcmp(path + a - b, end) == 0;
}

/* The path below the root, absolute in `into`, or NULL when it is none of ours. */
static const char *ours(const char *path, char *into)
{
    if (out < 0) return NULL;
    if (path[0] == '/') snprintf(into, PATH_MAX, "%s", path);
    else {
        char here[PATH_MAX];
        if (!getcwd(here, sizeof here)) return NULL;
        if (snprintf(into, PATH_MAX, "%s/%s", here, path) >= PATH_MAX) return NULL;
    }
    size_t size = strlen(root);
    if (strncmp(into, root, size) != 0 || (into[size] != '/' && into[size] != 0)) return NULL;
    return ends(into, "-shm") || ends(into, "/lock") ? NULL : into;
}

static const char *followed(int fd) { return out >= 0 && fd >= 0 && fd < MOST ? name_of[fd] : NULL; }

static void forget(int fd)
{
    if (out >= 0 && fd >= 0 && fd < MOST && name_of[fd]) {
        free(name_of[fd]);
        name_of[fd] = NULL;
    }
}

static int opened(int at, const char *path, int flags, mode_t mode)
{
    char full[PATH_MAX];
    const char *mine = at == AT_FDCWD || path[0] == '/' ? ours(path, full) : NULL;
    pthread_mutex_lock(&one_at_a_time);
    int there = mine && access(mine, F_OK) == 0;
    int fd = (int)syscall(SYS_openat, at, path, flags, mode);
    int why = errno;
    if (fd >= 0) forget(fd);
    if (fd >= 0 && mine && fd < MOST) {
        name_of[fd] = strdup(mine);
        if (!there) note('C', mine, 0, NULL, 0);
        else if (flags & O_TRUNC) note('T', mine, 0, NULL, 0);
    }
    pthread_mutex_unlock(&one_at_a_time);
    errno = why;
    return fd;
}

#define MODE \
    mode_t mode = 0; \
    if (flags & (O_CREAT | O_TMPFILE)) { \
        va_list rest; \
        va_start(rest, flags); \
        mode = va_arg(rest, mode_t); \
        va_end(rest); \
    }

int open(const char *path, int flags, ...) { MODE return opened(AT_FDCWD, path, flags, mode); }
int open64(const char *path, int flags, ...) { MODE return opened(AT_FDCWD, path, flags, mode); }
int openat(int at, const char *path, int flags, ...) { MODE return opened(at, path, flags, mode); }
int openat64(int at, const char *path, int flags, ...) { MODE return opened(at, path, flags, mode); }

int close(int fd)
{
    REAL(close);
    pthread_mutex_lock(&one_at_a_time);
    forget(fd);
    int done = real(fd);
    int why = errno;
    pthread_mutex_unlock(&one_at_a_time);
    errno = why;
    return done;
}

#define WRITTEN(call, where) \
    const char *path = followed(fd); \
    if (!path) return real call; \
    pthread_mutex_lock(&one_at_a_time); \
    off_t from = where; \
    ssize_t done = real call; \
    int why = errno; \
    if (done > 0) note('W', path, (uint64_t)from, data, (size_t)done); \
    pthread_mutex_unlock(&one_at_a_time); \
    errno = why; \
    return done;

ssize_t write(int fd, const void *data, size_t size)
{
    REAL(write);
    WRITTEN((fd, data, size),
            fcntl(fd, F_GETFL) & O_APPEND ? lseek(fd, 0, SEEK_END) : lseek(fd, 0, SEEK_CUR))
}

ssize_t pwrite(int fd, const void *data, size_t size, off_t at)
{
    REAL(pwrite);
    WRITTEN((fd, data, size, at), at)
}

ssize_t pwrite64(int fd, const void *data, size_t size, off64_t at)
{
    REAL(pwrite64);
    WRITTEN((fd, data, size, at), at)
}

/* Copying inside the kernel would pass by unseen; callers then write by themselves. */
ssize_t sendfile64(int to, int from, off64_t *at, size_t size)
{
    REAL(sendfile64);
    if (!followed(to)) return real(to, from, at, size);
    errno = EINVAL;
    return -1;
}
ssize_t sendfile(int to, int from, off_t *at, size_t size)
{
    REAL(sendfile);
    if (!followed(to)) return real(to, from, at, size);
    errno = EINVAL;
    return -1;
}

#define SHORTENED \
    const char *path = followed(fd); \
    if (!path) return real(fd, size); \
    pthread_mutex_lock(&one_at_a_time); \
    int done = real(fd, size); \
    int why = errno; \
    if (done == 0) note('T', path, (uint64_t)size, NULL, 0); \
    pthread_mutex_unlock(&one_at_a_time); \
    errno = why; \
    return done;

int ftruncate(int fd, off_t size) { REAL(ftruncate); SHORTENED }
int ftruncate64(int fd, off64_t size) { REAL(ftruncate64); SHORTENED }

static int synced(int fd, int (*real)(int))
{
    const char *path = followed(fd);
    if (!path) return real(fd);
    pthread_mutex_lock(&one_at_a_time);
    uint64_t number = ((uint64_t)getpid() << 32) + ++syncs;
    note('B', path, number, NULL, 0);
    pthread_mutex_unlock(&one_at_a_time);
    int done = real(fd);
    int why = errno;
    struct stat found;
    pthread_mutex_lock(&one_at_a_time);
    if (done == 0 && fstat(fd, &found) == 0) note(S_ISDIR(found.st_mode) ? 'D' : 'E', path, number, NULL, 0);
    pthread_mutex_unlock(&one_at_a_time);
    errno = why;
    return done;
}

int fsync(int fd) { REAL(fsync); return synced(fd, real); }
int fdatasync(int fd) { REAL(fdatasync); return synced(fd, real); }

#define CHANGED(kind, call) \
    char full[PATH_MAX]; \
    const char *mine = ours(path, full); \
    if (!mine) return real call; \
    pthread_mutex_lock(&one_at_a_time); \
    int done = real call; \
    int why = errno; \
    if (done == 0) note(kind, mine, 0, NULL, 0); \
    pthread_mutex_unlock(&one_at_a_time); \
    errno = why; \
    return done;

int unlink(const char *path) { REAL(unlink); CHANGED('U', (path)) }
int rmdir(const char *path) { REAL(rmdir); CHANGED('X', (path)) }
int mkdir(const char *path, mode_t mode) { REAL(mkdir); CHANGED('M', (path, mode)) }

int rename(const char *path, const char *to)
{
    REAL(rename);
    char full[PATH_MAX], full_to[PATH_MAX];
    const char *mine = ours(path, full), *target = ours(to, full_to);
    if (!mine || !target) return real(path, to);
    pthread_mutex_lock(&one_at_a_time);
    int done = real(path, to);
    int why = errno;
    if (done == 0) note('R', mine, 0, target, strlen(target));
    pthread_mutex_unlock(&one_at_a_time);
    errno = why;
    return done;
}
