package org.tidemark.application;

import java.util.List;
import java.util.Optional;
import org.hl7.fhir.r4.model.Resource;

/** What the service makes of the writes of clients, in the transaction that stores them. */
public interface Consequences {

  /**
   * Judges one write of a client before it is stored. In a transaction Bundle all references
   * between its entries are already resolved, and the people it brings are already stored.
   *
   * @param incoming what the client sent, with the id that it will have
   * @param former the current version, empty when the record is new
   * @return what is to be stored: the same resource, or an amended one
   * @throws org.tidemark.fhir.Problem when the write is refused
   */
  Resource admit(Resource incoming, Optional<Resource> former);

  /**
   * Judges the deletion of a record by a client before it happens.
   *
   * @param former the record as it stands
   * @param subject the normalised reference to the person it is about, if it is about one
   * @throws org.tidemark.fhir.Problem when it must stay
   */
  void release(Resource former, Optional<String> subject);

  /**
   * Acts on what was stored. Called once a request after all of its writes, and for a batch once an
   * entry; what it writes through {@link Records#put} is committed with them or not at all.
   *
   * @param changes the writes of the client, in the order of the request
   */
  void follow(List<Change> changes);
}
