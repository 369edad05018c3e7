/**
 * What whoever runs the service needs: copies of the database and their restoring, checks of what
 * is kept, and figures about the work.
 *
 * <p>May use {@code application}, {@code audit} and {@code store}. Never sees what a record says.
 */
package org.tidemark.operation;
