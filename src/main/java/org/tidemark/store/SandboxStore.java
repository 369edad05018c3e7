package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.Optional;
import org.hibernate.StatelessSession;
import org.hibernate.query.MutationQuery;
import org.tidemark.clinic.ActingClinic;

/**
 * Keeps what the sandbox's authorization server knows. Every method joins the caller's transaction.
 */
@ApplicationScoped
public class SandboxStore {
  private static final String CLIENT = " where clinic = :clinic and client_id = :client";

  private final StatelessSession session;

  SandboxStore(StatelessSession session) {
    this.session = session;
  }

  /**
   * A registered client.
   *
   * @param jwks its public keys, as a JWK Set
   * @param scopes what it may ask for, separated by spaces
   * @param actsFor the clinic that it gets tokens for
   */
  public record Client(String jwks, String scopes, String actsFor) {}

  /** The client of this id, if it is registered. */
  public Optional<Client> find(String client) {
    return session
        .createNativeQuery(
            "select jwks, scopes, acts_for from sandbox_client" + CLIENT, Object[].class)
        .addScalar("jwks", String.class)
        .addScalar("scopes", String.class)
        .addScalar("acts_for", String.class)
        .setParameter("clinic", ActingClinic.current())
        .setParameter("client", client)
        .uniqueResultOptional()
        .map(row -> new Client((String) row[0], (String) row[1], (String) row[2]));
  }

  /** Registers a client, or what it is from now on. */
  public void register(String client, Client as) {
    change("delete from sandbox_client" + CLIENT).setParameter("client", client).executeUpdate();
    change(
            "insert into sandbox_client (clinic, client_id, jwks, scopes, acts_for)"
                + " values (:clinic, :client, :jwks, :scopes, :actsFor)")
        .setParameter("client", client)
        .setParameter("jwks", as.jwks())
        .setParameter("scopes", as.scopes())
        .setParameter("actsFor", as.actsFor())
        .executeUpdate();
  }

  /**
   * Takes an assertion, and forgets those that have expired.
   *
   * @param jti its id, hashed
   * @param expiresMs until when it could be sent again, ms since 1970 UTC
   * @throws RuntimeException one that {@link LostRace#isLostRace} knows, when it was taken before
   */
  public void take(String client, String jti, long expiresMs, long nowMs) {
    change("delete from sandbox_assertion where clinic = :clinic and expires_ms < :now")
        .setParameter("now", nowMs)
        .executeUpdate();
    change(
            "insert into sandbox_assertion (clinic, client_id, jti_hash, expires_ms)"
                + " values (:clinic, :client, :jti, :expires)")
        .setParameter("client", client)
        .setParameter("jti", jti)
        .setParameter("expires", expiresMs)
        .executeUpdate();
  }

  /** The key that signs tokens, as a JWK with its private part, once there is one. */
  public Optional<String> key() {
    return session
        .createNativeQuery("select jwk from sandbox_key where clinic = :clinic", String.class)
        .addScalar("jwk", String.class)
        .setParameter("clinic", ActingClinic.current())
        .uniqueResultOptional();
  }

  /**
   * Keeps the key.
   *
   * @throws RuntimeException one that {@link LostRace#isLostRace} knows, when there is one
   */
  public void keep(String key) {
    change("insert into sandbox_key (clinic, jwk) values (:clinic, :jwk)")
        .setParameter("jwk", key)
        .executeUpdate();
  }

  private MutationQuery change(String sql) {
    return session.createNativeMutationQuery(sql).setParameter("clinic", ActingClinic.current());
  }
}
