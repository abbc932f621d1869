"""A broker with its own CA and a password: the daemon gets in with both, and with neither wrong one."""

import subprocess
import time
from pathlib import Path

import pytest

from advisor.errors import ConfigError, FileError
from advisor.readings.mqtt import MqttSource
from advisor.readings.password import read_password
from advisor.shop.shop import Broker
from tests.support import program
from tests.watch.broker import TestBroker

pytestmark = pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")


def openssl(folder: Path, *words: str) -> None:
    subprocess.run([program("openssl", "openssl"), *words], cwd=folder, check=True, capture_output=True)


def make_ca(folder: Path, name: str) -> None:
    openssl(
        folder,
        *f"req -x509 -newkey rsa:2048 -nodes -keyout {name}.key -out {name}.pem -days 2 -subj /CN={name}".split(),
    )


@pytest.fixture
def secure(tmp_path):
    """A broker that asks for TLS and a password, in a folder with its CA and another one."""
    make_ca(tmp_path, "ca")
    make_ca(tmp_path, "other")
    openssl(
        tmp_path,
        *["req", "-newkey", "rsa:2048", "-nodes", "-keyout", "srv.key", "-out", "srv.csr", "-subj", "/CN=localhost"],
    )
    (tmp_path / "ext").write_text("subjectAltName=IP:127.0.0.1")
    signing = "x509 -req -in srv.csr -CA ca.pem -CAkey ca.key -CAcreateserial -out srv.pem -days 2 -extfile ext"
    openssl(tmp_path, *signing.split())
    subprocess.run(
        [program("mosquitto_passwd", "mosquitto"), "-b", "-c", "pw", "advisor", "right"], cwd=tmp_path, check=True
    )
    broker = TestBroker(tmp_path)
    settings = broker.conf.read_text("utf-8").replace(
        "allow_anonymous true",
        f"allow_anonymous false\npassword_file {tmp_path}/pw\ncafile {tmp_path}/ca.pem\n"
        f"certfile {tmp_path}/srv.pem\nkeyfile {tmp_path}/srv.key",
    )
    broker.conf.write_text(settings, encoding="utf-8")
    broker.start()
    yield broker
    broker.stop()


def connects(broker: Broker, seconds: float = 5.0) -> bool:
    source = MqttSource(broker, (), lambda message, done: True, lambda: 0, time.monotonic)
    source.start()
    try:
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if source.connected_for is not None:
                return True
            time.sleep(0.05)
        return False
    finally:
        source.stop()


@pytest.mark.slow
@pytest.mark.parametrize("protocol", ["5", "3.1.1"])
@pytest.mark.parametrize(
    ("ca", "password", "gets_in"), [("ca", "right", True), ("ca", "wrong", False), ("other", "right", False)]
)
def test_only_the_right_ca_and_the_right_password_get_in(tmp_path, secure, protocol, ca, password, gets_in):
    (tmp_path / "password").write_text(f"{password}\n")
    broker = Broker(
        "127.0.0.1",
        secure.port,
        protocol=protocol,
        user="advisor",
        password_file=tmp_path / "password",
        tls_ca=tmp_path / f"{ca}.pem",
        keepalive=5,
    )
    assert connects(broker, 5.0 if gets_in else 2.5) is gets_in


def test_where_a_password_may_stand(tmp_path):
    (tmp_path / "mqtt").write_text("from a credential\n")
    plain = Broker("127.0.0.1")
    assert read_password(plain, {}) is None
    assert read_password(Broker("h", password_env="P"), {"P": "from the environment"}) == "from the environment"
    assert (
        read_password(Broker("h", credential="mqtt"), {"CREDENTIALS_DIRECTORY": str(tmp_path)}) == "from a credential"
    )
    for broker in (
        Broker("h", password_env="P"),
        Broker("h", credential="mqtt"),
        Broker("h", password_file=tmp_path / "no"),
    ):
        with pytest.raises((ConfigError, FileError), match=r"mqtt\.(password_env|password_file|credential)") as caught:
            read_password(broker, {})
        assert "from" not in str(caught.value)
        assert str(tmp_path) not in str(caught.value)


def test_a_ca_file_that_is_none_is_told_before_anything_is_sent(tmp_path):
    (tmp_path / "ca.pem").write_text("no certificate")
    with pytest.raises(ConfigError, match="tls_ca"):
        MqttSource(
            Broker("127.0.0.1", tls_ca=tmp_path / "ca.pem"), (), lambda m, d: True, lambda: 0, time.monotonic
        ).start()
