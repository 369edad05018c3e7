/**
 * Values with their units: amounts, pain scores, grades and bands. Everything else is built from
 * them; this package sees nothing but the JDK.
 */
package org.tidemark.quantity;
