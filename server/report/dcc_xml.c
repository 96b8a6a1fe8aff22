#include "dcc_xml.h"

#include <libxml/parser.h>
#include <libxml/xmlsave.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <xmlsec/xmlsec.h>
/* needs the types of the one above */
#include <xmlsec/errors.h>
#include <xmlsec/openssl/app.h>
#include <xmlsec/openssl/crypto.h>

static pthread_once_t once = PTHREAD_ONCE_INIT;

static void begin(void)
{
	xmlInitParser();
}

/* A hostile document is an answer, not something for the log. */
static void say_nothing(void *context, xmlErrorPtr error)
{
	(void)context;
	(void)error;
}

void dcc_xml_begin(void)
{
	pthread_once(&once, begin);
	xmlSetStructuredErrorFunc(NULL, say_nothing); /* each thread has its own */
}

static pthread_once_t xmlsec_once = PTHREAD_ONCE_INIT;
static bool xmlsec_ready;

static void xmlsec_begin(void)
{
	dcc_xml_begin();
	xmlSecErrorsDefaultCallbackEnableOutput(0);
	xmlsec_ready = xmlSecInit() == 0 && xmlSecCheckVersion() == 1 && xmlSecOpenSSLAppInit(NULL) == 0 &&
		       xmlSecOpenSSLInit() == 0;
}

bool dcc_xmlsec_begin(void)
{
	pthread_once(&xmlsec_once, xmlsec_begin);
	dcc_xml_begin();
	return xmlsec_ready;
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
