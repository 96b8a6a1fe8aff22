#include "dcc_xml.h"

#include <libxml/parser.h>
#include <libxml/xmlsave.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

static pthread_once_t once = PTHREAD_ONCE_INIT;

static void begin(void)
{
	xmlInitParser();
}

void dcc_xml_begin(void)
{
	pthread_once(&once, begin);
}

enum status dcc_xml_bytes(xmlDocPtr doc, bool indent, char **bytes, size_t *size, struct err *err)
{
	xmlBufferPtr buffer = xmlBufferCreate();
	xmlSaveCtxtPtr save = buffer ? xmlSaveToBuffer(buffer, "UTF-8", indent ? XML_SAVE_FORMAT : 0) : NULL;
	bool good = save && xmlSaveDoc(save, doc) >= 0;

	if (save)
		good = xmlSaveClose(save) >= 0 && good;
	*size = good ? (size_t)xmlBufferLength(buffer) : 0;
	*bytes = good ? malloc(*size + 1) : NULL;
	if (*bytes) {
		memcpy(*bytes, xmlBufferContent(buffer), *size);
		(*bytes)[*size] = '\0';
	}
	xmlBufferFree(buffer);
	return *bytes ? OK : err_set(err, NO_MEMORY, "", "not enough memory for the certificate");
}
