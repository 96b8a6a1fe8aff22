/* The seal with the plant's own keys and roots. */
#include "dcc_seal.h"

static enum status sign_with(void *key, const void *bytes, size_t size, unsigned char **signature,
			     size_t *signature_size, struct err *err)
{
	return seal_key_sign(key, bytes, size, signature, signature_size, err);
}

enum status dcc_sign(struct seal_key *key, const char *xml, size_t size, int64_t at_ms, char **out, size_t *out_size,
		     struct err *err)
{
	const struct dcc_signer signer = {seal_key_certificate(key), seal_key_chain(key), sign_with, key};
	enum status rc = seal_key_check(key, at_ms, err);

	*out = NULL;
	*out_size = 0;
	return rc ? rc : dcc_seal(&signer, xml, size, at_ms, out, out_size, err);
}

enum status dcc_verify(const char *xml, size_t size, const struct seal_roots *roots, struct dcc_report *out,
		       struct err *err)
{
	return dcc_unseal(xml, size, roots ? seal_roots_store(roots) : NULL, out, err);
}
