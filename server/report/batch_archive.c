/* The archive of a batch: each certificate as it was issued, and an index by which the files can be held against their hashes. */
#include <archive.h>
#include <archive_entry.h>
#include <stdlib.h>
#include <string.h>

#include "base/time.h"
#include "batch_internal.h"

struct batch_archive {
	struct archive *zip;
	FILE *index, *fallen;
	char *index_text, *fallen_text;
	size_t index_size, fallen_size;
};

static enum status trouble(struct batch_archive *z, struct err *err)
{
	return err_set(err, FAILED, "", "the archive cannot be written: %s",
		       archive_error_string(z->zip) ? archive_error_string(z->zip) : "out of memory");
}

static enum status add_file(struct batch_archive *z, const char *name, const void *bytes, size_t size, int64_t at_ms,
			    struct err *err)
{
	struct archive_entry *entry = archive_entry_new();
	enum status rc = OK;

	if (!entry)
		return err_set(err, NO_MEMORY, "", "out of memory");
	archive_entry_set_pathname(entry, name);
	archive_entry_set_size(entry, (la_int64_t)size);
	archive_entry_set_filetype(entry, AE_IFREG);
	archive_entry_set_perm(entry, 0644);
	archive_entry_set_mtime(entry, at_ms / 1000, 0);
	if (archive_write_header(z->zip, entry) != ARCHIVE_OK ||
	    archive_write_data(z->zip, bytes, size) != (la_ssize_t)size)
		rc = trouble(z, err);
	archive_entry_free(entry);
	return rc;
}

struct batch_archive *batch_archive_new(FILE *out, struct err *err)
{
	struct batch_archive *z = calloc(1, sizeof *z);

	if (z) {
		z->zip = archive_write_new();
		z->index = open_memstream(&z->index_text, &z->index_size);
		z->fallen = open_memstream(&z->fallen_text, &z->fallen_size);
	}
	if (!z || !z->zip || !z->index || !z->fallen || archive_write_set_format_zip(z->zip) != ARCHIVE_OK ||
	    archive_write_open_FILE(z->zip, out) != ARCHIVE_OK) {
		batch_archive_free(z);
		err_set(err, NO_MEMORY, "", "out of memory");
		return NULL;
	}
	fputs("certificate,record,tag,tested,issued,state,pdf_sha256,xml_sha256\r\n", z->index);
	return z;
}

/* RFC 4180; a text that a spreadsheet would take for a formula gets an apostrophe before it. */
static void put_field(FILE *out, const char *text, const char *after)
{
	fputc('"', out);
	if (text && strchr("=+-@\t\r", *text) && *text)
		fputc('\'', out);
	for (; text && *text; text++) {
		if (*text == '"')
			fputc('"', out);
		fputc(*text, out);
	}
	fprintf(out, "\"%s", after);
}

static void put_time(FILE *out, int64_t ms)
{
	char text[TIME_TEXT_SIZE] = "";

	if (ms)
		time_to_text(ms, text);
	put_field(out, text, ",");
}

static void put_line(struct batch_archive *z, const struct batch_item *i)
{
	put_field(z->index, i->certificate, ",");
	put_field(z->index, i->record, ",");
	put_field(z->index, i->tag, ",");
	put_time(z->index, i->performed_at);
	put_time(z->index, i->issued_at);
	put_field(z->index, i->state, ",");
	put_field(z->index, i->pdf ? i->pdf_sha256 : "issued without a seal", ",");
	put_field(z->index, i->xml ? i->xml_sha256 : "", "\r\n");
	if (strcmp(i->state, "current") != 0)
		fprintf(z->fallen, "%s no longer stands: %s%s%s. %s\r\n", i->certificate, i->state,
			i->replaced_by ? ", replaced by " : "", i->replaced_by ? i->replaced_by : "",
			i->reason ? i->reason : "");
}

enum status batch_archive_add(struct batch_archive *z, const struct batch_item *i, struct err *err)
{
	char name[80];
	enum status rc = OK;

	if (i->pdf) {
		snprintf(name, sizeof name, "%.64s.pdf", i->certificate);
		rc = add_file(z, name, i->pdf, i->pdf_size, i->issued_at, err);
	}
	if (!rc && i->xml) {
		snprintf(name, sizeof name, "%.64s.xml", i->certificate);
		rc = add_file(z, name, i->xml, i->xml_size, i->issued_at, err);
	}
	if (!rc)
		put_line(z, i);
	return rc;
}

enum status batch_archive_end(struct batch_archive *z, struct err *err)
{
	int64_t now = time_now_ms();
	enum status rc = OK;

	if (fflush(z->index) || fflush(z->fallen))
		return err_set(err, NO_MEMORY, "", "out of memory");
	rc = add_file(z, "index.csv", z->index_text, z->index_size, now, err);
	if (!rc && z->fallen_size)
		rc = add_file(z, "NO-LONGER-STANDING.txt", z->fallen_text, z->fallen_size, now, err);
	if (!rc && archive_write_close(z->zip) != ARCHIVE_OK)
		rc = trouble(z, err);
	return rc;
}

void batch_archive_free(struct batch_archive *z)
{
	if (!z)
		return;
	if (z->zip)
		archive_write_free(z->zip);
	if (z->index)
		fclose(z->index);
	if (z->fallen)
		fclose(z->fallen);
	free(z->index_text);
	free(z->fallen_text);
	free(z);
}
