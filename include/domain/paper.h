/* The two sizes of paper that certificates are laid out for. */
#ifndef DOMAIN_PAPER_H
#define DOMAIN_PAPER_H

enum paper { PAPER_A4, PAPER_LETTER };

#endif
