/* What writing, sealing and verifying share: the library's one start, bytes from a tree, the marks of a sealed document. */
#ifndef REPORT_DCC_XML_H
#define REPORT_DCC_XML_H

#include <libxml/tree.h>
#include <stdbool.h>
#include "base/status.h"

#define DCC_UNSEALED  " not sealed: this document carries no signature that proves where it comes from "
#define DCC_SEAL_MARK "cryptElectronicSeal" /* in calibrationLaboratory: "true" once it is sealed */

/* Before any other use of libxml2; any number of times, from any thread. */
void dcc_xml_begin(void);
/* The same for xmlsec; false when it cannot be used. */
bool dcc_xmlsec_begin(void);
/* UTF-8 with the XML declaration. *bytes is malloc'ed. indent only for a tree that was built, never for one that was read. */
enum status dcc_xml_bytes(xmlDocPtr doc, bool indent, char **bytes, size_t *size, struct err *err);

#endif
