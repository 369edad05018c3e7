package org.tidemark.store;

import static java.nio.charset.StandardCharsets.UTF_8;

import java.util.List;

/**
 * One thing that somebody did, or was refused. A text that is not known is empty; one that is too
 * long is cut.
 *
 * @param recordedMs when, ms since 1970 UTC
 * @param interaction what kind of thing: a code
 * @param action {@code C}, {@code R}, {@code U}, {@code D} or {@code E} (execute)
 * @param outcome {@code 0} for success, {@code 4} for a refusal, {@code 8} for a fault
 * @param status the status of the answer; 0 for a success
 * @param client the id of the client that the token was given to
 * @param user the user that the token names: a reference, or an id of the issuer's
 * @param address from where the request came
 * @param requestId the id of the request
 * @param entity the record, as {@code Type/id}
 * @param entityVersion its version; 0 where none is meant
 * @param patient the normalised reference to the person it is about
 * @param asked the request as it was sent: method, address and query
 */
public record AuditEntry(
    long recordedMs,
    String interaction,
    String action,
    String outcome,
    int status,
    String client,
    String user,
    String address,
    String requestId,
    String entity,
    long entityVersion,
    String patient,
    String asked) {

  /** The longest request that is kept whole, in characters. */
  public static final int LONGEST_ASKED = 8000;

  /** Makes each text fit its column; a database has no place for 0 and for half a character. */
  public AuditEntry {
    client = fit(client, 200);
    user = fit(user, 400);
    address = fit(address, 64);
    requestId = fit(requestId, 64);
    entity = fit(entity, 200);
    patient = fit(patient, 400);
    asked = fit(asked, LONGEST_ASKED);
  }

  private static String fit(String text, int most) {
    String cut = text.length() <= most ? text : text.substring(0, most);
    boolean plain = cut.chars().noneMatch(c -> c == 0 || Character.isSurrogate((char) c));
    return plain ? cut : new String(cut.getBytes(UTF_8), UTF_8).replace('\0', ' ');
  }

  /** All values, in the order of the columns and of the hash. */
  List<Object> values() {
    return List.of(
        recordedMs,
        interaction,
        action,
        outcome,
        status,
        client,
        user,
        address,
        requestId,
        entity,
        entityVersion,
        patient,
        asked);
  }
}
