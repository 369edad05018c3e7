/**
 * A small authorization server for trying out how a system is connected: it gives tokens to clients
 * that show who they are by a signed assertion (SMART Backend Services). Only for demonstrations
 * and tests, and only at the machine itself; {@code http.AccessSettings} sees to that.
 *
 * <p>May use {@code access}, {@code application} to take an assertion once, {@code http} for what
 * each request needs, and {@code store} for its own tables; never sees a record.
 */
package org.tidemark.sandbox;
