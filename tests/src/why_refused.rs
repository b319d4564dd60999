//! Why a line of the shop log counts for nothing: every reason, for those that look at the words.

use trayzero_core::shop_log::WhyRefused;

/// Every reason.
pub const WHY_REFUSED: [WhyRefused; 23] = [
    WhyRefused::FoundedOnce,
    WhyRefused::OtherShop,
    WhyRefused::NoMember,
    WhyRefused::OtherKey,
    WhyRefused::NoForeman,
    WhyRefused::NotTheirOwn,
    WhyRefused::MemberAlready,
    WhyRefused::StruckKey,
    WhyRefused::TabletsFull,
    WhyRefused::MembersFile,
    WhyRefused::DismissedFull,
    WhyRefused::NotMember,
    WhyRefused::TooManyPlaces,
    WhyRefused::LastTablet,
    WhyRefused::TabletsKeyAgain,
    WhyRefused::NameInUse,
    WhyRefused::PeopleFull,
    WhyRefused::PersonsKeyAgain,
    WhyRefused::NoOldCode,
    WhyRefused::Nobody,
    WhyRefused::LastForeman,
    WhyRefused::NoName,
    WhyRefused::NoHex,
];
