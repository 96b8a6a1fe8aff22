/* The key that the ledger's head is kept under: a file beside the plant's, so that a copy of the plant alone does not hold it. */
#include <errno.h>
#include <fcntl.h>
#include <sodium.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "ledger_internal.h"

#define KEY_TEXT_SIZE (2 * HMAC_KEY_SIZE + 1)

static enum status make_key(const char *path, unsigned char key[HMAC_KEY_SIZE], struct err *err)
{
	char text[KEY_TEXT_SIZE];
	int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
	bool written;

	if (fd < 0)
		return err_set(err, FAILED, "", "%s cannot be made: %s", path, strerror(errno));
	randombytes_buf(key, HMAC_KEY_SIZE);
	sodium_bin2hex(text, sizeof text, key, HMAC_KEY_SIZE);
	text[KEY_TEXT_SIZE - 1] = '\n';
	written = write(fd, text, sizeof text) == (ssize_t)sizeof text && !fsync(fd);
	sodium_memzero(text, sizeof text);
	close(fd);
	if (written)
		return OK;
	unlink(path);
	return err_set(err, FAILED, "", "%s cannot be written: %s", path, strerror(errno));
}

static enum status read_key(const char *path, int fd, unsigned char key[HMAC_KEY_SIZE], struct err *err)
{
	char text[KEY_TEXT_SIZE];
	struct stat st;
	size_t size = 0;
	ssize_t n;

	if (fstat(fd, &st) || (st.st_mode & 077))
		return err_set(err, FORBIDDEN, "", "others may read %s: chmod 600", path);
	n = read(fd, text, sizeof text);
	if (n < 2 * HMAC_KEY_SIZE || sodium_hex2bin(key, HMAC_KEY_SIZE, text, 2 * HMAC_KEY_SIZE, NULL, &size, NULL) ||
	    size != HMAC_KEY_SIZE)
		return err_set(err, INVALID, "", "%s holds no key", path);
	sodium_memzero(text, sizeof text);
	return OK;
}

/* fresh: there is no ledger yet that a key could be missing for. */
static enum status get_key(const char *path, bool fresh, unsigned char key[HMAC_KEY_SIZE], struct err *err)
{
	int fd = open(path, O_RDONLY | O_CLOEXEC);
	enum status rc;

	if (fd < 0 && errno == ENOENT && fresh)
		return make_key(path, key, err);
	if (fd < 0 && errno == ENOENT)
		return err_set(err, NOT_FOUND, "", "%s is missing: put it back from where the plant's copies are kept",
			       path);
	if (fd < 0)
		return err_set(err, FAILED, "", "%s cannot be read: %s", path, strerror(errno));
	rc = read_key(path, fd, key, err);
	close(fd);
	return rc;
}

static enum status look(struct store *store, bool *fresh, struct err *err)
{
	struct ledger_filter newest = {0};
	struct ledger_entry last;
	struct ledger_head head;
	struct arena a = {0};
	struct db *db = store_read_begin(store);
	size_t n = 0;
	enum status rc = store_ledger_head(db, &head, err);

	if (!rc)
		rc = store_ledger_list(db, &newest, &a, &last, 1, &n, err);
	*fresh = !rc && !n && !head.number && !*head.mac;
	store_read_end(store, db);
	arena_clear(&a);
	return rc == FAILED ? OK : rc; /* a head that is gone is what ledger_check speaks of */
}

static enum status put_under_key(struct db *db, void *context, struct err *err)
{
	struct ledger_head head;
	enum status rc = store_ledger_head(db, &head, err);

	(void)context;
	if (rc)
		return rc;
	ledger_mac(db, &head, head.mac);
	return store_ledger_set_head(db, &head, err);
}

enum status ledger_open(struct store *store, const char *path, struct err *err)
{
	unsigned char key[HMAC_KEY_SIZE];
	bool fresh;
	enum status rc = look(store, &fresh, err);

	if (!rc && sodium_init() < 0)
		rc = err_set(err, FAILED, "", "the library for cryptography does not start");
	if (!rc)
		rc = get_key(path, fresh, key, err);
	if (rc)
		return rc;
	store_set_key(store, key);
	sodium_memzero(key, sizeof key);
	return fresh ? store_write(store, put_under_key, NULL, err) : OK;
}
