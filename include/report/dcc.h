/*
 * The certificate for machines: a finished record as an XML document by the open schema of the digital calibration
 * certificate (DCC 3.3.0, namespace https://ptb.de/dcc), its quantities by the Digital SI format (D-SI 2.2.1,
 * https://ptb.de/si). It says what the PDF says, with the same figures; docs/machine-readable.md has the place of each item.
 *
 * The seal on it is an enveloped XML signature at the end of the root, where the schema has its place: XAdES baseline B-B
 * (ETSI EN 319 132-1), exclusive canonical XML, SHA-256. All functions may be called from any thread.
 */
#ifndef REPORT_DCC_H
#define REPORT_DCC_H

#include "report/certificate.h"

/*
 * The unsealed document, which says that it is. Equal records give equal bytes. *bytes is malloc'ed, the caller frees it.
 * CONFLICT without a certificate number; INVALID when the record holds a unit that the program does not know; NO_MEMORY.
 */
enum status dcc_xml(const struct record *r, const struct certificate_options *options, char **bytes, size_t *size,
		    struct err *err);

#endif
