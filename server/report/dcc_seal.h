/*
 * The seal on the document, below the keys: what dcc_sign and dcc_verify (report/dcc.h) do with a key and roots that
 * somebody else has opened.
 */
#ifndef REPORT_DCC_SEAL_H
#define REPORT_DCC_SEAL_H

#include <libxml/tree.h>
#include <openssl/x509.h>
#include "report/dcc.h"

#define DS_NAMESPACE	"http://www.w3.org/2000/09/xmldsig#"
#define XADES_NAMESPACE "http://uri.etsi.org/01903/v1.3.2#"

#define ALGORITHM_C14N	      "http://www.w3.org/2001/10/xml-exc-c14n#"
#define ALGORITHM_ENVELOPED   "http://www.w3.org/2000/09/xmldsig#enveloped-signature"
#define ALGORITHM_SHA256      "http://www.w3.org/2001/04/xmlenc#sha256"
#define ALGORITHM_RSA	      "http://www.w3.org/2001/04/xmldsig-more#rsa-sha256"
#define ALGORITHM_ECDSA	      "http://www.w3.org/2001/04/xmldsig-more#ecdsa-sha256"
#define TYPE_PROPERTIES	      "http://uri.etsi.org/01903#SignedProperties"
#define MIME_TYPE	      "application/xml"
#define ID_SEAL		      "seal"
#define ID_SEAL_DOCUMENT      "seal_document"
#define ID_SEAL_PROPERTIES    "seal_properties"
#define DECLARATION	      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
#define DIGEST_SIZE	      32
#define DOCUMENT_SIZE_MAX     (16u << 20)
#define SEAL_CERTIFICATES_MAX 10

struct dcc_signer {
	X509 *certificate;
	STACK_OF(X509) * chain; /* issuers, nearest first, without the root; may be NULL */
	/* SHA-256 of the bytes, signed; ECDSA as DER. *signature is malloc'ed. */
	enum status (*sign)(void *key, const void *bytes, size_t size, unsigned char **signature,
			    size_t *signature_size, struct err *err);
	void *key;
};

enum status dcc_seal(const struct dcc_signer *signer, const char *xml, size_t size, int64_t at_ms, char **out,
		     size_t *out_size, struct err *err);
/* store may be NULL: nobody is trusted. */
enum status dcc_unseal(const char *xml, size_t size, X509_STORE *store, struct dcc_report *out, struct err *err);

/* The nodes of a signature that has the one form we write. */
struct dcc_form {
	xmlNodePtr signature, properties;
	const char *method;					  /* algorithm of the signature */
	char *time;						  /* xmlFree */
	X509 *certificate;					  /* owned */
	unsigned char digest[SEAL_CERTIFICATES_MAX][DIGEST_SIZE]; /* as signed: certificate, then chain */
	size_t n_digests;
	STACK_OF(X509) * chain; /* owned */
};

/* Reads it; false with a sentence when it has another form. Release with dcc_form_clear in either case. */
bool dcc_form_read(xmlDocPtr doc, struct dcc_form *form, char sentence[320]);
void dcc_form_clear(struct dcc_form *form);

/* Base64 of one line, the only one that decodes to these bytes. NULL for no memory; the caller frees it. */
char *dcc_base64(const unsigned char *bytes, size_t size);
/* Bytes of such a text; NULL for anything else. The caller frees it. */
unsigned char *dcc_base64_read(const char *text, size_t *size);

#endif
