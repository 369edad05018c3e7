package org.tidemark.recordsystem;

import jakarta.enterprise.context.ApplicationScoped;
import java.net.InetAddress;
import java.net.URI;
import java.util.List;
import org.tidemark.application.EndpointGuard;
import org.tidemark.application.EndpointGuard.Found;

/** Where record systems lie, as far as requests may go there. */
@ApplicationScoped
class Places {
  private final EndpointGuard guard;

  Places(EndpointGuard guard) {
    this.guard = guard;
  }

  /**
   * Where the host of an address lies.
   *
   * @throws RecordSystemProblem when nothing is sent there
   */
  List<InetAddress> of(URI address) throws RecordSystemProblem {
    Found found = guard.find(address.toString());
    if (found.refusal().isPresent()) {
      throw new RecordSystemProblem(found.refusal().get());
    }
    return found.addresses();
  }
}
