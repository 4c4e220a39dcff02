/* A disk for tests, loaded before the C library (LD_PRELOAD, Linux). It notes in a folder beside what was synced, so that a power cut can be played afterwards;
 * and at a chosen call it fails, or kills the process.
 *
 * Of every file and folder below DISK_ROOT, known by its inode and the time of its making, DISK_SYNCED holds
 *   KEY.bytes  what was synced of a file
 *   KEY.dirty  a byte a page, 1 where something was written since
 *   KEY.names  what was synced of a folder: a line an entry, "KEY f|d NAME"
 * A sync that fails forgets what was to be written, as kernels do: the pages count as clean, and no later sync writes them (Rebello et al., "Can applications recover from
 * fsync failures?", USENIX ATC 2020). Nothing is really synced.
 *
 * DISK_CONTROL is a file of four numbers: calls until something happens; what (an errno, or -1: the process is killed); to how many calls from there on (-1: all);
 * and to how many it has happened. */
#define _GNU_SOURCE
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <unistd.h>

enum { PAGE = 4096, MOST_PAGES = 1 << 16, KILLS = -1 };
enum { CALLS, WHAT, FAILING, HAPPENED };

static const char *root, *synced;
static volatile int *control;
static pthread_mutex_t one = PTHREAD_MUTEX_INITIALIZER;

__attribute__((constructor)) static void begin(void) {
    const char *path = getenv("DISK_CONTROL");
    int fd = path ? syscall(SYS_openat, AT_FDCWD, path, O_RDWR) : -1;
    if (fd >= 0) {
        void *shared = mmap(NULL, 4 * sizeof(int), PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0);
        control = shared == MAP_FAILED ? NULL : shared;
        close(fd);
    }
    synced = getenv("DISK_SYNCED");
    root = getenv("DISK_ROOT");
}

static int is_below(const char *path) {
    size_t n = strlen(root);
    return strncmp(path, root, n) == 0 && (path[n] == '/' || path[n] == 0);
}

static int is_ours(int fd) {
    char link[64], path[PATH_MAX];
    if (!root || !synced || !control) return 0;
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t n = readlink(link, path, sizeof path - 1);
    if (n < 0) return 0;
    path[n] = 0;
    return is_below(path);
}

/* What is to happen to this call: nothing, an errno, or KILLS. */
static int due(void) {
    if (control[WHAT] == 0 || (control[CALLS] > 0 && --control[CALLS] > 0) || control[FAILING] == 0) return 0;
    if (control[FAILING] > 0) control[FAILING]--;
    control[HAPPENED]++;
    return control[WHAT];
}

static void die(void) {
    kill(getpid(), SIGKILL);
    for (;;) pause();
}

/* The key of an entry of a folder, or of what is open where the name is "". */
static int key_of(int fd, const char *name, char key[96], struct statx *of) {
    if (statx(fd, name, AT_EMPTY_PATH | AT_SYMLINK_NOFOLLOW, STATX_BASIC_STATS | STATX_BTIME, of) != 0) return -1;
    int has = (of->stx_mask & STATX_BTIME) != 0;
    return snprintf(key, 96, "%llu-%lld-%u", (unsigned long long)of->stx_ino, has ? (long long)of->stx_btime.tv_sec : 0, has ? of->stx_btime.tv_nsec : 0);
}

static int beside(const char *key, const char *what, int flags) {
    char path[PATH_MAX];
    snprintf(path, sizeof path, "%s/%s.%s", synced, key, what);
    return syscall(SYS_openat, AT_FDCWD, path, flags | O_CREAT | O_CLOEXEC, 0600);
}

static void mark(int fd, off_t from, off_t to) {
    static char ones[MOST_PAGES];
    char key[96];
    struct statx of;
    if (to <= from || key_of(fd, "", key, &of) < 0) return;
    memset(ones, 1, sizeof ones);
    int dirty = beside(key, "dirty", O_WRONLY);
    for (off_t page = from / PAGE; page <= (to - 1) / PAGE; page += MOST_PAGES) {
        off_t left = (to - 1) / PAGE - page + 1;
        syscall(SYS_pwrite64, dirty, ones, left < MOST_PAGES ? left : MOST_PAGES, page);
    }
    close(dirty);
}

static void sync_names(int folder, const char *key) {
    char line[PATH_MAX + 128], entry_key[96], from[PATH_MAX], to[PATH_MAX], self[64];
    struct statx of;
    snprintf(self, sizeof self, "/proc/self/fd/%d", folder);
    DIR *entries = opendir(self);
    if (!entries) return;
    int names = beside(key, "new", O_WRONLY | O_TRUNC);
    for (struct dirent *entry; (entry = readdir(entries));) {
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0) continue;
        if (key_of(dirfd(entries), entry->d_name, entry_key, &of) < 0) continue;
        int n = snprintf(line, sizeof line, "%s %c %s\n", entry_key, S_ISDIR(of.stx_mode) ? 'd' : 'f', entry->d_name);
        syscall(SYS_write, names, line, n);
    }
    close(names);
    closedir(entries);
    snprintf(from, sizeof from, "%s/%s.new", synced, key);
    snprintf(to, sizeof to, "%s/%s.names", synced, key);
    rename(from, to);
}

/* Copies the dirty pages to what is synced; but for half of them where `is_half`, and none where the sync fails. */
static void sync_bytes(int fd, const char *key, off_t size, int is_half, int fails) {
    static char flags[MOST_PAGES], page[PAGE];
    char self[64];
    snprintf(self, sizeof self, "/proc/self/fd/%d", fd);
    int from = syscall(SYS_openat, AT_FDCWD, self, O_RDONLY | O_CLOEXEC), dirty = beside(key, "dirty", O_RDWR), to = beside(key, "bytes", O_WRONLY);
    ssize_t n;
    for (off_t at = 0; !fails && (n = pread(dirty, flags, sizeof flags, at)) > 0; at += n) {
        for (ssize_t i = 0; i < n; i++) {
            if (!flags[i] || (is_half && (at + i) % 2)) continue;
            ssize_t read = pread(from, page, PAGE, (at + i) * PAGE);
            if (read > 0) syscall(SYS_pwrite64, to, page, read, (at + i) * PAGE);
        }
    }
    if (!fails && !is_half) syscall(SYS_ftruncate, to, size);
    if (!is_half) syscall(SYS_ftruncate, dirty, 0);
    close(from), close(dirty), close(to);
}

static int sync_of(int fd, int number) {
    char key[96];
    struct statx of;
    if (!is_ours(fd)) return syscall(number, fd);
    pthread_mutex_lock(&one);
    int what = due();
    if (key_of(fd, "", key, &of) >= 0) {
        int is_folder = S_ISDIR(of.stx_mode);
        if (!is_folder) sync_bytes(fd, key, of.stx_size, what == KILLS, what > 0);
        if (is_folder && what == 0) sync_names(fd, key);
    }
    if (what == KILLS) die();
    pthread_mutex_unlock(&one);
    if (what == 0) return 0;
    errno = what;
    return -1;
}

int fsync(int fd) { return sync_of(fd, SYS_fsync); }
int fdatasync(int fd) { return sync_of(fd, SYS_fdatasync); }

/* A write of which, where something is to happen, only the first half is done: a full disk gives a short count before it gives an error. */
static ssize_t written(int fd, const void *bytes, size_t count, off_t at, int is_at) {
    pthread_mutex_lock(&one);
    int what = due();
    size_t part = what == 0 ? count : count / 2;
    off_t from = is_at ? at : lseek(fd, 0, SEEK_CUR);
    ssize_t done = what > 0 && what != ENOSPC ? 0 : is_at ? syscall(SYS_pwrite64, fd, bytes, part, at) : syscall(SYS_write, fd, bytes, part);
    int said = errno;
    if (done > 0) mark(fd, from, from + done);
    if (what == KILLS) die();
    pthread_mutex_unlock(&one);
    if (what > 0 && done <= 0) {
        errno = what;
        return -1;
    }
    errno = said;
    return done;
}

ssize_t write(int fd, const void *bytes, size_t count) { return is_ours(fd) ? written(fd, bytes, count, 0, 0) : syscall(SYS_write, fd, bytes, count); }
ssize_t pwrite(int fd, const void *bytes, size_t count, off_t at) { return is_ours(fd) ? written(fd, bytes, count, at, 1) : syscall(SYS_pwrite64, fd, bytes, count, at); }
ssize_t pwrite64(int fd, const void *bytes, size_t count, off_t at) { return pwrite(fd, bytes, count, at); }
ssize_t writev(int fd, const struct iovec *parts, int count) {
    /* A short count is an answer that every caller must bear. */
    return is_ours(fd) && count > 0 ? written(fd, parts[0].iov_base, parts[0].iov_len, 0, 0) : syscall(SYS_writev, fd, parts, count);
}

int ftruncate(int fd, off_t size) {
    if (!is_ours(fd)) return syscall(SYS_ftruncate, fd, size);
    pthread_mutex_lock(&one);
    int what = due();
    if (what == KILLS) die();
    struct stat of;
    if (what == 0 && fstat(fd, &of) == 0) mark(fd, size < of.st_size ? size : of.st_size, size < of.st_size ? of.st_size : size);
    int done = what == 0 ? syscall(SYS_ftruncate, fd, size) : -1;
    if (what > 0) errno = what;
    pthread_mutex_unlock(&one);
    return done;
}
int ftruncate64(int fd, off_t size) { return ftruncate(fd, size); }

/* What makes a new name. Renaming is not stopped: names count once their folder is synced, whatever gave them. */
static int made(int folder, const char *path) {
    char whole[PATH_MAX];
    if (!root || !control || (path[0] != '/' && folder != AT_FDCWD)) return 0;
    if (path[0] == '/') snprintf(whole, sizeof whole, "%s", path);
    else if (!getcwd(whole, sizeof whole)) return 0;
    if (!is_below(whole)) return 0;
    pthread_mutex_lock(&one);
    int what = due();
    if (what == KILLS) die();
    pthread_mutex_unlock(&one);
    return what;
}

static int opened(int folder, const char *path, int flags, mode_t mode) {
    if ((flags & O_CREAT) && syscall(SYS_faccessat, folder, path, F_OK) != 0) {
        int what = made(folder, path);
        if (what > 0) {
            errno = what;
            return -1;
        }
    }
    return syscall(SYS_openat, folder, path, flags, mode);
}

#define MODE_OF(flags, mode) \
    mode_t mode = 0; \
    if ((flags) & (O_CREAT | O_TMPFILE)) { \
        va_list rest; \
        va_start(rest, flags); \
        mode = va_arg(rest, mode_t); \
        va_end(rest); \
    }

int open(const char *path, int flags, ...) { MODE_OF(flags, mode) return opened(AT_FDCWD, path, flags, mode); }
int open64(const char *path, int flags, ...) { MODE_OF(flags, mode) return opened(AT_FDCWD, path, flags, mode); }
int openat(int folder, const char *path, int flags, ...) { MODE_OF(flags, mode) return opened(folder, path, flags, mode); }
int openat64(int folder, const char *path, int flags, ...) { MODE_OF(flags, mode) return opened(folder, path, flags, mode); }

int mkdir(const char *path, mode_t mode) {
    int what = made(AT_FDCWD, path);
    if (what > 0) {
        errno = what;
        return -1;
    }
    return syscall(SYS_mkdirat, AT_FDCWD, path, mode);
}
