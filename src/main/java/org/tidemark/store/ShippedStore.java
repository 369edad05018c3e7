package org.tidemark.store;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.Set;
import org.hibernate.StatelessSession;
import org.tidemark.clinic.ActingClinic;

/**
 * Remembers which of the definitions that come with the service are stored as they are. Every
 * method joins the caller's transaction.
 */
@ApplicationScoped
public class ShippedStore {
  private final StatelessSession session;

  ShippedStore(StatelessSession session) {
    this.session = session;
  }

  /** The digests of definitions whose records are still at the version that was written of them. */
  public Set<String> standing() {
    return Set.copyOf(
        session
            .createNativeQuery(
                "select s.digest from shipped_definition s join resource_current c"
                    + " on c.clinic = s.clinic and c.resource_type = s.resource_type"
                    + " and c.resource_id = s.resource_id and c.version = s.version"
                    + " where s.clinic = :clinic",
                String.class)
            .addScalar("digest", String.class)
            .setParameter("clinic", ActingClinic.current())
            .list());
  }

  /**
   * Remembers that a version of a record holds a definition.
   *
   * @param type the record's type
   * @param id its id
   * @param version its version
   * @param digest the digest of the definition, at most 64 characters
   */
  public void remember(String type, String id, long version, String digest) {
    session.upsert(new ShippedRow(ActingClinic.current(), type, id, version, digest));
  }
}
