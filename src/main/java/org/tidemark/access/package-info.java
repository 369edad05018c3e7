/**
 * What an access token allows, by the scopes of SMART App Launch 2.2: which actions, on which
 * types, on whose records. Pure: text in, values out.
 */
package org.tidemark.access;
