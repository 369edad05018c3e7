package org.tidemark.http;

import java.io.IOException;
import java.net.URI;

/** Reads the public keys of an authorization server from where a setting says that they are. */
public interface KeySetSource {
  /**
   * A JSON Web Key Set, as it is written there.
   *
   * @throws IOException when there is no whole answer in time, or another than 200: a redirection
   *     is one, and is not followed
   */
  String read(URI at) throws IOException;
}
