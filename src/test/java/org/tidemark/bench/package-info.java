/** Measures a running service from outside, over HTTP. */
package org.tidemark.bench;
