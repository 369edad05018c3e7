/**
 * The demo: an invented clinic and invented people, whose diaries are sent to the running service
 * over HTTP as any other client would, and what the service made of them told in words.
 *
 * <p>May use {@code fhir} for its codes, HAPI's model and client, and the configuration. Never sees
 * {@code application}, {@code store}, {@code http} or the core: what it knows of a plan it has read
 * over HTTP.
 */
package org.tidemark.demo;
