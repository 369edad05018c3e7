package org.tidemark.http;

import java.io.ByteArrayOutputStream;
import java.io.IOException;
import java.io.InputStream;
import java.io.UncheckedIOException;
import java.net.Socket;
import java.net.SocketTimeoutException;
import java.nio.charset.StandardCharsets;
import java.util.regex.Matcher;
import java.util.regex.Pattern;

/** Requests as bytes on a connection of their own. */
final class Raw {
  private static final int PATIENCE_MS = 500;
  private static final Pattern STATUS = Pattern.compile("HTTP/1\\.[01] (\\d{3})");

  private Raw() {}

  /** Sends and reads until the service closes the connection or says nothing more. */
  static String send(String... parts) {
    return send(8081, parts);
  }

  static String send(int port, String... parts) {
    return send(port, PATIENCE_MS, parts);
  }

  static String send(int port, int patienceMs, String... parts) {
    try (Socket socket = new Socket("localhost", port)) {
      socket.setSoTimeout(patienceMs);
      socket.setTcpNoDelay(true);
      for (String part : parts) {
        socket.getOutputStream().write(part.getBytes(StandardCharsets.ISO_8859_1));
        socket.getOutputStream().flush();
      }
      return rest(socket.getInputStream());
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }

  private static String rest(InputStream from) throws IOException {
    ByteArrayOutputStream got = new ByteArrayOutputStream();
    byte[] part = new byte[8192];
    try {
      for (int n = from.read(part); n >= 0; n = from.read(part)) {
        got.write(part, 0, n);
      }
      got.writeBytes("[closed]".getBytes(StandardCharsets.ISO_8859_1));
    } catch (SocketTimeoutException open) {
      got.writeBytes("[open]".getBytes(StandardCharsets.ISO_8859_1));
    } catch (IOException reset) {
      got.writeBytes("[closed]".getBytes(StandardCharsets.ISO_8859_1));
    }
    return got.toString(StandardCharsets.ISO_8859_1);
  }

  /** How many answers came. */
  static int answers(String got) {
    int count = 0;
    for (Matcher status = STATUS.matcher(got); status.find(); ) {
      count++;
    }
    return count;
  }

  /** The status of the first answer; 0 when there is none. */
  static int status(String got) {
    Matcher status = STATUS.matcher(got);
    return status.find() ? Integer.parseInt(status.group(1)) : 0;
  }
}
