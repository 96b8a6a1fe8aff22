#include "seal_qpdf.h"

#include <stdlib.h>
#include <string.h>
#include "seal_pdf.h"

enum status seal_qpdf_judge(qpdf_data q, struct err *err)
{
	if (!qpdf_has_error(q))
		return OK;
	return err_set(err, FAILED, "", "the PDF could not be made: %s",
		       qpdf_get_error_message_detail(q, qpdf_get_error(q)));
}

enum status seal_qpdf_open(const void *pdf, size_t size, qpdf_data *out, struct err *err)
{
	qpdf_data q;
	enum status rc = OK;

	if (size > SEAL_PDF_SIZE_MAX)
		return err_set(err, INVALID, "", "the PDF is too large");
	q = qpdf_init();
	qpdf_silence_errors(q);
	qpdf_set_suppress_warnings(q, QPDF_TRUE);
	qpdf_set_attempt_recovery(q, QPDF_FALSE);
	if (qpdf_read_memory(q, "certificate", pdf, size, NULL) & QPDF_ERRORS)
		rc = err_set(err, INVALID, "", "the PDF is damaged: %s",
			     qpdf_get_error_message_detail(q, qpdf_get_error(q)));
	else if (qpdf_is_encrypted(q))
		rc = err_set(err, INVALID, "", "the PDF is encrypted");
	if (rc)
		qpdf_cleanup(&q);
	else
		*out = q;
	return rc;
}

enum status seal_qpdf_write(qpdf_data q, char **out, size_t *size, struct err *err)
{
	enum status rc = seal_qpdf_judge(q, err);

	if (rc)
		return rc;
	qpdf_init_write_memory(q);
	qpdf_set_object_stream_mode(q, qpdf_o_disable);
	qpdf_set_deterministic_ID(q, QPDF_TRUE);
	qpdf_set_newline_before_endstream(q, QPDF_TRUE); /* ISO 19005-3 6.1.7.1 */
	qpdf_set_minimum_pdf_version(q, "1.7");
	if (qpdf_write(q) & QPDF_ERRORS)
		return seal_qpdf_judge(q, err);
	*size = qpdf_get_buffer_length(q);
	*out = malloc(*size);
	if (!*out)
		return err_set(err, NO_MEMORY, "", "out of memory");
	memcpy(*out, qpdf_get_buffer(q), *size);
	return OK;
}

void seal_qpdf_mend_fonts(qpdf_data q)
{
	int count = qpdf_oh_get_int_value_as_int(q, qpdf_oh_get_key(q, qpdf_get_trailer(q), "/Size"));

	for (int i = 1; i < count && i < PDF_OBJECTS_MAX; i++) {
		qpdf_oh font = qpdf_get_object_by_id(q, i, 0);

		if (qpdf_oh_is_dictionary(q, font) &&
		    qpdf_oh_is_name_and_equals(q, qpdf_oh_get_key(q, font, "/Subtype"), "/CIDFontType2") &&
		    !qpdf_oh_has_key(q, font, "/CIDToGIDMap"))
			qpdf_oh_replace_key(q, font, "/CIDToGIDMap", qpdf_oh_new_name(q, "/Identity"));
	}
	qpdf_oh_release_all(q);
}
