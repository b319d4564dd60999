//! Why lines of the shop log count for nothing, in German.

use trayzero_core::shop_log::WhyRefused;

use crate::data::store::InGerman;

impl InGerman for WhyRefused {
    fn in_german(&self) -> String {
        let why = match self {
            Self::FoundedOnce => "eine Werkstatt wird einmal gegründet",
            Self::OtherShop => "es ist die Zeile einer anderen Werkstatt",
            Self::NoMember => "das Tablet ist unter diesem Schlüssel kein Mitglied",
            Self::OtherKey => "sie ist nicht mit dem Schlüssel dieser Person unterschrieben",
            Self::NoForeman => "kein Meister hat sie unterschrieben",
            Self::NotTheirOwn => "das darf nur die Person selbst",
            Self::MemberAlready => "das Tablet ist schon Mitglied",
            Self::StruckKey => {
                "ein gestrichener Schlüssel kommt nicht zurück; das Tablet braucht einen neuen"
            }
            Self::TabletsFull => "die Werkstatt hat keinen Platz für noch ein Tablet",
            Self::MembersFile => "es ist die Datei eines Tablets der Werkstatt",
            Self::DismissedFull => "die Werkstatt hat so viele Dateien verworfen, wie sie kann",
            Self::NotMember => "das Tablet ist kein Mitglied",
            Self::TooManyPlaces => "sie nennt mehr Journale, als eine Zeile darf",
            Self::LastTablet => "es ist das letzte Tablet der Werkstatt",
            Self::TabletsKeyAgain => "das Tablet hat oder hatte diesen Schlüssel schon",
            Self::NameInUse => "den Namen gibt es schon",
            Self::PeopleFull => "die Werkstatt hat keinen Platz für noch eine Person",
            Self::PersonsKeyAgain => "jemand hat oder hatte diesen Schlüssel schon",
            Self::NoOldCode => {
                "die Person hat einen Schlüssel, oder keinen, den ein alter Code ergibt"
            }
            Self::Nobody => "niemand dieses Namens ist in der Werkstatt",
            Self::LastForeman => "es ist der letzte Meister mit einem Code",
            Self::NoName => "der Name kann keiner sein",
            Self::NoHex => "es sind nicht 64 Hexziffern",
        };
        why.to_owned()
    }
}
